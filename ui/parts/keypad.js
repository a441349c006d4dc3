// Large keys for numbers. What is typed stays in this tab through a reload; only "send" tells the server.
const PLACES = /^-?\d{0,6}([.]\d{0,3})?$/;

function build(root, component) {
  const view = { component, fields: [], now: 0 };
  const { words, fields, key } = component.data;
  const store = (i) => `keypad-${key}-${i}`;
  root.textContent = "";
  const row = document.createElement("div");
  row.className = "fields";
  root.appendChild(row);
  fields.forEach((label, i) => {
    const name = document.createElement("label");
    name.textContent = label;
    const input = document.createElement("input");
    input.type = "text";
    input.autocomplete = "off";
    input.setAttribute("aria-label", label);
    // On a phone its own keyboard would cover half of what is to be read; ours is there already.
    input.inputMode = matchMedia("(pointer: coarse)").matches ? "none" : "decimal";
    input.value = sessionStorage.getItem(store(i)) ?? "";
    let before = input.value;
    input.onfocus = () => { view.now = i; mark(); };
    input.oninput = () => {
      const typed = input.value.replace(",", ".").trim();
      if (!PLACES.test(typed)) input.value = before;
      else input.value = before = typed;
      keep(i);
    };
    input.onkeydown = (event) => {
      if (event.key !== "Enter") return;
      event.preventDefault();
      if (i + 1 < fields.length && !event.ctrlKey && input.value && !view.fields[i + 1].value && view.component.data.both) {
        view.fields[i + 1].focus();
      } else send();
    };
    name.appendChild(input);
    row.appendChild(name);
    view.fields.push(input);
  });
  const keys = document.createElement("div");
  keys.className = "keys";
  root.appendChild(keys);
  const button = (label, says, act) => {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = label;
    made.setAttribute("aria-label", says);
    made.onclick = act;
    keys.appendChild(made);
    return made;
  };
  const press = (sign) => {
    const input = view.fields[view.now];
    const typed = input.value + sign;
    if (PLACES.test(typed)) input.value = typed;
    keep(view.now);
  };
  const press_back = () => {
    const input = view.fields[view.now];
    input.value = input.value.slice(0, -1);
    keep(view.now);
  };
  const turn = () => {
    const input = view.fields[view.now];
    input.value = input.value.startsWith("-") ? input.value.slice(1) : `-${input.value}`;
    keep(view.now);
  };
  for (const sign of ["7", "8", "9", "4", "5", "6", "1", "2", "3"]) button(sign, sign, () => press(sign));
  if (component.data.sign) button("±", words.sign, turn);
  else button(".", words.point, () => press("."));
  button("0", "0", () => press("0"));
  if (component.data.sign) button(".", words.point, () => press("."));
  button("⌫", words.back, press_back);
  const go = button(component.data.send, component.data.send, () => send());
  go.className = component.data.sign ? "send narrow" : "send";

  function keep(i) {
    sessionStorage.setItem(store(i), view.fields[i].value);
    mark();
  }
  function mark() {
    view.fields.forEach((input, i) => input.classList.toggle("now", i === view.now && view.fields.length > 1));
    go.disabled = !/\d/.test(view.fields[0].value);
  }
  function send() {
    if (go.disabled) return;
    view.component.setTriggerValue("sent", view.fields.map((input) => input.value));
  }
  view.clear = () => {
    view.fields.forEach((input, i) => { input.value = ""; sessionStorage.removeItem(store(i)); });
    view.now = 0;
    mark();
  };
  mark();
  return view;
}

const kept = new WeakMap();

export default function (component) {
  const root = component.parentElement.querySelector(".keypad");
  const { key, fields, send, sign, cleared } = component.data;
  const shape = JSON.stringify([key, fields, send, sign]);
  let view = kept.get(root);
  if (!view || view.shape !== shape) {
    view = Object.assign(build(root, component), { shape, cleared });
    kept.set(root, view);
  }
  view.component = component;
  if (view.cleared !== cleared) {
    view.cleared = cleared;
    view.clear();
  }
}
