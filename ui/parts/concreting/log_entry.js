// Entries of the pour log. What is typed stays in this browser, half typed or waiting, until the server says that it is in the
// record: a reload or a lost connection loses nothing, and an entry that is sent twice carries one name.
const built = new WeakMap();

function part(tag, className, parent, text) {
  const element = document.createElement(tag);
  if (className) element.className = className;
  if (text !== undefined) element.textContent = text;
  parent.appendChild(element);
  return element;
}

function read(name, otherwise) {
  try {
    const kept = JSON.parse(window.localStorage.getItem(name));
    return kept === null ? otherwise : kept;
  } catch (error) {
    return otherwise;
  }
}

function keep(name, value) {
  try {
    window.localStorage.setItem(name, JSON.stringify(value));
    return true;
  } catch (error) {
    return false;
  }
}

function own_name() {
  const bytes = new Uint8Array(12);
  window.crypto.getRandomValues(bytes);
  return [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
}

function with_zone(date) {
  const shift = -date.getTimezoneOffset();
  const two = (n) => String(Math.trunc(Math.abs(n))).padStart(2, "0");
  const local = new Date(date.getTime() + shift * 60000).toISOString().slice(0, 19);
  return `${local}${shift < 0 ? "-" : "+"}${two(shift / 60)}:${two(shift % 60)}`;
}

function on_day(clock, now) {
  // A time of day means the latest such time: just before midnight is yesterday shortly after it.
  const [hours, minutes] = clock.split(":").map(Number);
  const date = new Date(now);
  date.setHours(hours, minutes, 0, 0);
  if (date - now > 5 * 60000) date.setDate(date.getDate() - 1);
  return with_zone(date);
}

function build(root) {
  const view = { root, open: null };
  root.textContent = "";
  view.kinds = part("div", "kinds", root);
  view.form = part("div", "", root);
  view.state = part("div", "", root);
  view.state.setAttribute("aria-live", "polite");
  return view;
}

function queue_of(view) {
  return read(view.queue, []);
}

function send(view) {
  view.component.setStateValue("waiting", queue_of(view).filter((e) => !view.refused[e.once]));
}

function show_kinds(view) {
  view.kinds.textContent = "";
  // One hand, one thing: while a form is open the other buttons are out of the way.
  if (view.open && view.data.forms.some((f) => f.name === view.open)) return;
  for (const kind of view.data.forms) {
    const button = part("button", kind.first ? "first" : "", view.kinds, kind.title);
    button.type = "button";
    button.setAttribute("aria-pressed", String(view.open === kind.name));
    button.onclick = () => { view.open = view.open === kind.name ? null : kind.name; show(view); };
  }
}

function field(view, form, said, one) {
  const label = part("label", "", form);
  part("span", "", label, one.label);
  let input;
  if (one.options) {
    input = part("select", "", label);
    for (const [value, text] of one.options) {
      const option = part("option", "", input, text);
      option.value = value;
    }
    input.value = said[one.name] ?? (one.options.length ? one.options[one.options.length - 1][0] : "");
  } else {
    input = part("input", "", label);
    input.type = one.type === "time" ? "time" : "text";
    if (one.type === "number") { input.inputMode = "decimal"; input.autocomplete = "off"; }
    if (one.type !== "time") input.maxLength = 500;
    const now = with_zone(new Date()).slice(11, 16);
    input.value = said[one.name] ?? one.value ?? (one.name === "at" ? now : "");
  }
  input.name = one.name;
  input.required = Boolean(one.needed);
  input.oninput = () => keep(view.draft, { what: view.open, said: values(form) });
}

function values(form) {
  const found = {};
  for (const input of form.querySelectorAll("input, select")) found[input.name] = input.value.trim();
  return found;
}

function show_form(view) {
  const kind = view.data.forms.find((f) => f.name === view.open);
  view.form.textContent = "";
  if (!kind) return;
  const draft = read(view.draft, null);
  const said = draft && draft.what === kind.name ? draft.said : {};
  const form = part("form", "", view.form);
  form.noValidate = true;
  part("h3", "", form, kind.title);
  for (const one of kind.fields) field(view, form, said, one);
  const row = part("div", "row", form);
  const back = part("button", "", row, view.data.words.back);
  back.type = "button";
  back.onclick = () => { keep(view.draft, null); view.open = null; show(view); };
  part("button", "first", row, view.data.words.keep).type = "submit";
  form.onsubmit = (event) => {
    event.preventDefault();
    const given = values(form);
    const missing = kind.fields.filter((f) => f.needed && !given[f.name]);
    for (const input of form.querySelectorAll("input, select")) input.removeAttribute("aria-invalid");
    if (missing.length) {
      const first = form.elements[missing[0].name];
      first.setAttribute("aria-invalid", "true");
      first.focus();
      view.said = `${view.data.words.needed} ${missing.map((f) => f.label).join(", ")}`;
      show_state(view);
      return;
    }
    for (const one of kind.fields) {
      if (one.type === "number" && given[one.name]) given[one.name] = given[one.name].replace(",", ".");
      if (one.type === "time" && given[one.name]) given[one.name] = on_day(given[one.name], new Date());
    }
    const entry = { ...given, what: kind.name, once: own_name(), title: kind.title };
    if (!entry.at) entry.at = with_zone(new Date());
    if (!keep(view.queue, [...queue_of(view), entry])) {
      view.said = view.data.words.full;
      show_state(view);
      return;
    }
    keep(view.draft, null);
    view.said = "";
    view.open = null;
    show(view);
    send(view);
  };
}

function words_of(entry) {
  const told = Object.entries(entry).filter(([name, value]) => value && !["what", "once", "title", "at"].includes(name));
  return `${entry.title} ${entry.at.slice(11, 16)}${told.length ? ": " : ""}${told.map(([, value]) => String(value).replace(/^\d{4}-\d\d-\d\dT(\d\d:\d\d).*/, "$1")).join(", ")}`;
}

function show_state(view) {
  view.state.textContent = "";
  const queue = queue_of(view);
  const waits = queue.filter((e) => !view.refused[e.once]);
  const words = view.data.words;
  if (view.said) part("p", "", part("div", "waiting wrong", view.state), view.said);
  if (waits.length) {
    const box = part("div", "waiting", view.state);
    part("p", "", box, words.waiting.replace("{count}", waits.length));
    const list = part("ul", "", box);
    for (const entry of waits) part("li", "", list, words_of(entry));
    const again = part("button", "", box, words.again);
    again.type = "button";
    again.onclick = () => send(view);
  }
  for (const entry of queue.filter((e) => view.refused[e.once])) {
    const box = part("div", "waiting wrong", view.state);
    part("p", "", box, `${words.wrong} ${words_of(entry)}`);
    part("p", "", box, view.refused[entry.once]);
    const row = part("div", "row", box);
    const edit = part("button", "", row, words.edit);
    const drop = part("button", "", row, words.drop);
    edit.type = drop.type = "button";
    const out = () => keep(view.queue, queue_of(view).filter((e) => e.once !== entry.once));
    edit.onclick = () => {
      const said = Object.fromEntries(Object.entries(entry).map(([n, v]) => [n, String(v).replace(/^\d{4}-\d\d-\d\dT(\d\d:\d\d).*/, "$1")]));
      out();
      keep(view.draft, { what: entry.what, said });
      view.open = entry.what;
      show(view);
    };
    drop.onclick = () => { out(); show(view); };
  }
}

function show(view) {
  show_kinds(view);
  show_form(view);
  show_state(view);
}

export default function (component) {
  const root = component.parentElement.querySelector(".log-entry");
  const fresh = !built.has(root);
  const view = built.get(root) ?? build(root);
  built.set(root, view);
  const before = view.data;
  view.component = component;
  view.data = component.data;
  view.queue = `pour-log:${component.data.pour}`;
  view.draft = `pour-log-draft:${component.data.pour}`;
  view.refused = component.data.refused;
  const taken = new Set(component.data.taken);
  const queue = queue_of(view);
  const left = queue.filter((e) => !taken.has(e.once));
  if (left.length !== queue.length) keep(view.queue, left);
  if (fresh) {
    const draft = read(view.draft, null);
    if (draft && draft.what) view.open = draft.what;
    show(view);
    if (left.length) send(view);
    window.addEventListener("online", () => { if (queue_of(view).length) send(view); });
  } else if (!view.open || JSON.stringify(before.forms.map((f) => f.name)) !== JSON.stringify(component.data.forms.map((f) => f.name))) {
    show(view);
  } else {
    show_state(view);
  }
}
