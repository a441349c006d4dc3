// The plan is an image; over it lie buttons, one for each element and spot, which finger, mouse and keyboard reach alike.
let gone = 0; // how often the page has asked to bring the plan into view

export default function (component) {
  const root = component.parentElement.querySelector(".plan");
  const { src, alt, touches, goes } = component.data;
  const focused = root.querySelector(":focus-visible")?.dataset.number;
  root.textContent = "";
  const image = document.createElement("img");
  image.src = src;
  image.alt = alt;
  root.appendChild(image);
  touches.forEach((touch, number) => {
    const button = document.createElement("button");
    button.type = "button";
    button.dataset.number = number;
    button.setAttribute("aria-label", touch.says);
    button.setAttribute("aria-pressed", touch.chosen ? "true" : "false");
    for (const side of ["left", "top", "width", "height"]) button.style[side] = `${100 * touch[side]}%`;
    button.onclick = () => component.setTriggerValue("touched", number);
    root.appendChild(button);
    if (String(number) === focused) button.focus({ preventScroll: true });
  });
  if (goes > gone) {
    gone = goes;
    root.scrollIntoView({ block: "start" });
  }
}
