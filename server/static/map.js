// Places defects on a drawn board by tap or drag. The form below the drawing
// does the same without this script.
"use strict";
(() => {
  const map = document.querySelector(".map");
  const form = document.getElementById("spot");
  if (!map || !form) return;
  const svg = map.querySelector("svg");
  const wood = svg.querySelector(".wood");
  const length = Number(map.dataset.length);
  const width = Number(map.dataset.width);
  document.documentElement.classList.add("scripted");
  svg.classList.add("live");

  // Where a finger is on the board, in millimetres from the left end and from
  // the edge near the keeper, which is the lower one.
  const place = (event) => {
    const box = wood.getBoundingClientRect();
    const part = (v, low, size) => Math.min(Math.max((v - low) / size, 0), 1);
    return { x: part(event.clientX, box.left, box.width) * length, y: (1 - part(event.clientY, box.top, box.height)) * width };
  };
  const send = (values) => {
    for (const name of ["tap-x", "tap-y", "tap-dx", "tap-dy"]) form.elements[name].value = values[name] ?? "";
    form.requestSubmit();
  };

  let start = null;
  let shade = null;
  const clear = () => { if (shade) shade.remove(); start = null; shade = null; };
  svg.addEventListener("pointerdown", (event) => {
    if (!event.isPrimary || event.button > 0) return;
    const box = wood.getBoundingClientRect();
    const near = 12; // a glove that lands beside the edge means the edge
    if (event.clientY < box.top - near || event.clientY > box.bottom + near) return;
    event.preventDefault();
    start = { at: place(event), clientX: event.clientX, clientY: event.clientY };
    svg.setPointerCapture(event.pointerId);
  });
  svg.addEventListener("pointermove", (event) => {
    if (!start) return;
    if (!shade) {
      shade = document.createElementNS("http://www.w3.org/2000/svg", "rect");
      shade.setAttribute("class", "shade");
      svg.append(shade);
    }
    const matrix = svg.getScreenCTM().inverse();
    const a = new DOMPoint(start.clientX, start.clientY).matrixTransform(matrix);
    const b = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
    shade.setAttribute("x", Math.min(a.x, b.x));
    shade.setAttribute("y", Math.min(a.y, b.y));
    shade.setAttribute("width", Math.abs(a.x - b.x));
    shade.setAttribute("height", Math.abs(a.y - b.y));
  });
  svg.addEventListener("pointercancel", clear);
  svg.addEventListener("pointerup", (event) => {
    if (!start) return;
    const from = start;
    const to = place(event);
    const moved = Math.hypot(event.clientX - from.clientX, event.clientY - from.clientY);
    clear();
    if (moved < 10) { // a tap: the middle of a defect of the size in the form
      send({ "tap-x": from.at.x, "tap-y": from.at.y });
      return;
    }
    const dx = Math.abs(to.x - from.at.x);
    const dy = Math.abs(to.y - from.at.y);
    const step = Number(map.dataset.step);
    send({ "tap-x": Math.min(to.x, from.at.x), "tap-y": Math.min(to.y, from.at.y), "tap-dx": Math.max(dx, step), "tap-dy": Math.max(dy, step) });
  });
})();
