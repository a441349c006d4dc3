// Points on a photo, one or two, and numbered notes that are there already. Touch or click sets the next one; dragging moves it under a magnifying glass; with the keyboard,
// a focused point moves by one pixel of the full-size photo with the arrow keys and by ten with Shift.
const SVG = "http://www.w3.org/2000/svg";
const kept = new WeakMap();

function part(tag, className, parent) {
  const element = document.createElement(tag);
  element.className = className;
  parent.appendChild(element);
  return element;
}

function cross(parent) {
  const drawn = document.createElementNS(SVG, "svg");
  drawn.setAttribute("viewBox", "0 0 44 44");
  for (const [colour, width] of [["#ffffff", 4], ["#1c1f24", 1.6]]) {
    const path = document.createElementNS(SVG, "path");
    path.setAttribute("d", "M22 4V18M22 26V40M4 22H18M26 22H40M22 21.5V22.5");
    path.setAttribute("stroke", colour);
    path.setAttribute("stroke-width", width);
    path.setAttribute("stroke-linecap", "round");
    drawn.appendChild(path);
  }
  parent.appendChild(drawn);
}

function build(root, component) {
  const view = { points: [], zoom: 1, component };
  root.textContent = "";
  const row = part("div", "row", root);
  const button = (label, title, act) => {
    const made = part("button", "", row);
    made.type = "button";
    made.textContent = label;
    made.setAttribute("aria-label", title);
    made.title = title;
    made.onclick = act;
    return made;
  };
  const words = component.data.words;
  button("−", words.smaller, () => zoomed(0.667));
  button("+", words.larger, () => zoomed(1.5));
  button(words.clear, words.clear, () => { view.points = []; place(); send(); });
  const frame = part("div", "frame", root);
  const sheet = part("div", "sheet", frame);
  const image = part("img", "", sheet);
  image.alt = component.data.alt;
  image.src = component.data.src;
  const lines = document.createElementNS(SVG, "svg");
  sheet.appendChild(lines);
  const most = component.data.most;
  const marks = [...Array(most).keys()].map((i) => {
    const mark = part("button", "point", sheet);
    mark.type = "button";
    mark.hidden = true;
    cross(mark);
    mark.onpointerdown = (event) => drag(event, i);
    mark.onkeydown = (event) => nudge(event, i);
    return mark;
  });
  const glass = part("div", "glass", sheet);
  glass.hidden = true;

  const scale = () => sheet.clientWidth / component.data.width;
  const inside = (v, most) => Math.min(Math.max(v, 0), most - 1);
  const at = (event) => {
    const box = sheet.getBoundingClientRect();
    return [
      inside((event.clientX - box.left) / scale() - 0.5, component.data.width),
      inside((event.clientY - box.top) / scale() - 0.5, component.data.height),
    ];
  };

  function send() {
    const points = view.points.length === most ? view.points.map((p) => p.map((v) => Math.round(v * 10) / 10)) : [];
    view.component.setStateValue("points", points);
  }

  function place() {
    lines.textContent = "";
    lines.setAttribute("viewBox", `0 0 ${component.data.width} ${component.data.height}`);
    if (view.points.length === 2) {
      for (const [colour, width] of [["#ffffff", 4], ["#1c1f24", 1.6]]) {
        const line = document.createElementNS(SVG, "line");
        [["x1", 0, 0], ["y1", 0, 1], ["x2", 1, 0], ["y2", 1, 1]].forEach(([name, i, k]) =>
          line.setAttribute(name, view.points[i][k] + 0.5));
        line.setAttribute("stroke", colour);
        line.setAttribute("stroke-width", width);
        line.setAttribute("vector-effect", "non-scaling-stroke");
        lines.appendChild(line);
      }
    }
    marks.forEach((mark, i) => {
      const point = view.points[i];
      mark.hidden = !point;
      if (!point) return;
      mark.style.left = `${(100 * (point[0] + 0.5)) / component.data.width}%`;
      mark.style.top = `${(100 * (point[1] + 0.5)) / component.data.height}%`;
      mark.setAttribute("aria-label", `${words.point} ${i + 1}: ${Math.round(point[0])}, ${Math.round(point[1])}`);
    });
  }

  function magnify(i) {
    const point = view.points[i];
    const times = Math.max(2, 0.75 / scale());
    const [x, y] = [(point[0] + 0.5) * scale(), (point[1] + 0.5) * scale()];
    const half = 72;
    glass.hidden = false;
    glass.style.left = `${Math.min(Math.max(x - half, 0), sheet.clientWidth - 2 * half)}px`;
    glass.style.top = `${y > 3 * half ? y - 3 * half : y + half}px`;
    glass.style.backgroundImage =
      "linear-gradient(#1c1f24,#1c1f24),linear-gradient(#1c1f24,#1c1f24)," + `url("${component.data.src}")`;
    glass.style.backgroundSize = `1px 30px, 30px 1px, ${sheet.clientWidth * times}px auto`;
    glass.style.backgroundPosition = `center, center, ${half - x * times}px ${half - y * times}px`;
  }

  function drag(event, i) {
    event.preventDefault();
    event.stopPropagation();
    marks[i].focus();
    marks[i].setPointerCapture(event.pointerId);
    const start = at(event);
    const from = view.points[i].slice();
    const moved = (e) => {
      const now = at(e);
      view.points[i] = [
        inside(from[0] + now[0] - start[0], component.data.width),
        inside(from[1] + now[1] - start[1], component.data.height),
      ];
      place();
      magnify(i);
    };
    const done = () => {
      marks[i].removeEventListener("pointermove", moved);
      glass.hidden = true;
      send();
    };
    magnify(i);
    marks[i].addEventListener("pointermove", moved);
    marks[i].addEventListener("pointerup", done, { once: true });
    marks[i].addEventListener("pointercancel", done, { once: true });
  }

  function nudge(event, i) {
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (!step) return;
    event.preventDefault();
    const far = event.shiftKey ? 10 : 1;
    view.points[i] = [
      inside(view.points[i][0] + far * step[0], component.data.width),
      inside(view.points[i][1] + far * step[1], component.data.height),
    ];
    place();
    clearTimeout(view.timer);
    view.timer = setTimeout(send, 500);
  }

  function zoomed(times) {
    const middle = [
      (frame.scrollLeft + frame.clientWidth / 2) / sheet.clientWidth,
      (frame.scrollTop + frame.clientHeight / 2) / sheet.clientHeight,
    ];
    view.zoom = Math.min(Math.max(view.zoom * times, 1), 8);
    sheet.style.width = `${100 * view.zoom}%`;
    frame.scrollLeft = middle[0] * sheet.clientWidth - frame.clientWidth / 2;
    frame.scrollTop = middle[1] * sheet.clientHeight - frame.clientHeight / 2;
    place();
  }

  sheet.onclick = (event) => {
    if (event.target.closest(".point") || view.points.length === most) return;
    view.points.push(at(event));
    place();
    if (view.points.length === most) send();
  };
  sheet.tabIndex = 0;
  sheet.setAttribute("role", "group");
  sheet.setAttribute("aria-label", words.keys);
  sheet.onkeydown = (event) => {
    if (event.key !== "Enter" || event.target !== sheet || view.points.length === most) return;
    event.preventDefault();
    const box = sheet.getBoundingClientRect();
    const shown = frame.getBoundingClientRect();
    view.points.push(at({
      clientX: (Math.max(box.left, shown.left) + Math.min(box.right, shown.right)) / 2 + 40 * view.points.length,
      clientY: (Math.max(box.top, shown.top) + Math.min(box.bottom, shown.bottom)) / 2,
    }));
    place();
    marks[view.points.length - 1].focus();
    if (view.points.length === most) send();
  };
  view.take = (typed) => {
    if (!typed || typed.turn === view.turn) return;
    view.turn = typed.turn;
    view.points = typed.points.map((p) => p.slice());
    place();
    send();
  };
  view.noted = (notes) => {
    sheet.querySelectorAll(".note").forEach((note) => note.remove());
    for (const { x, y, number } of notes) {
      const note = part("span", "note", sheet);
      note.textContent = number;
      note.style.left = `${(100 * (x + 0.5)) / component.data.width}%`;
      note.style.top = `${(100 * (y + 0.5)) / component.data.height}%`;
    }
  };
  return view;
}

export default function (component) {
  const root = component.parentElement.querySelector(".two-points");
  let view = kept.get(root);
  if (view && view.src === component.data.src) {
    view.component = component;
  } else {
    view = build(root, component);
    view.src = component.data.src;
    kept.set(root, view);
  }
  view.noted(component.data.notes);
  view.take(component.data.typed);
}
