// Places defects on a drawn board by tap, drag or arrow keys. The form below
// the drawing does the same without this script.
"use strict";
(() => {
  const map = document.querySelector(".map");
  const form = document.getElementById("spot");
  if (!map || !form) return;
  const svg = map.querySelector("svg");
  const wood = svg.querySelector(".wood");
  const length = Number(map.dataset.length);
  const width = Number(map.dataset.width);
  const step = Number(map.dataset.step);
  document.documentElement.classList.add("scripted");
  svg.classList.add("live");

  const draw = (name, kind) => {
    const e = document.createElementNS("http://www.w3.org/2000/svg", name);
    e.setAttribute("class", kind);
    svg.append(e);
    return e;
  };
  const send = (values) => {
    for (const name of ["tap-x", "tap-y", "tap-dx", "tap-dy"]) form.elements[name].value = values[name] ?? "";
    form.requestSubmit();
  };
  const sendRectangle = (a, b) => send({
    "tap-x": Math.min(a.x, b.x), "tap-y": Math.min(a.y, b.y),
    "tap-dx": Math.max(Math.abs(a.x - b.x), step), "tap-dy": Math.max(Math.abs(a.y - b.y), step),
  });

  // Where a finger is on the board, in millimetres from the left end and from
  // the edge near the keeper, which is the lower one.
  const place = (event) => {
    const box = wood.getBoundingClientRect();
    const part = (v, low, size) => Math.min(Math.max((v - low) / size, 0), 1);
    return { x: part(event.clientX, box.left, box.width) * length, y: (1 - part(event.clientY, box.top, box.height)) * width };
  };
  // Where a place on the board is in the drawing, and a rectangle between two.
  const size = (name) => Number(wood.getAttribute(name));
  const drawn = (at) => ({ x: size("x") + at.x / length * size("width"), y: size("y") + (1 - at.y / width) * size("height") });
  const shadeBetween = (shade, a, b) => {
    shade.setAttribute("x", Math.min(a.x, b.x));
    shade.setAttribute("y", Math.min(a.y, b.y));
    shade.setAttribute("width", Math.abs(a.x - b.x));
    shade.setAttribute("height", Math.abs(a.y - b.y));
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
    shade ??= draw("rect", "shade");
    const matrix = svg.getScreenCTM().inverse();
    const a = new DOMPoint(start.clientX, start.clientY).matrixTransform(matrix);
    const b = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
    shadeBetween(shade, a, b);
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
    sendRectangle(from.at, to);
  });

  // The same by keyboard: a cross that arrow keys move over the board.
  const said = document.getElementById("map-said");
  const stride = Number(map.dataset.stride);
  const remembered = "skepwood map " + location.pathname;
  let cross = null;
  let at = { x: length / 2, y: width / 2 };
  let anchor = null;
  map.tabIndex = 0;
  map.setAttribute("role", "application");
  map.setAttribute("aria-label", map.dataset.label);
  map.setAttribute("aria-describedby", "map-keys");

  // A length as the keeper's rule has it: whole millimetres, or inches with
  // sixteenths.
  const words = (mm) => {
    if (map.dataset.unit === "mm") return Math.round(mm) + " mm";
    let top = Math.round(mm / 25.4 * 16);
    let bottom = 16;
    const whole = Math.floor(top / 16);
    top %= 16;
    while (top > 0 && top % 2 === 0) { top /= 2; bottom /= 2; }
    if (top === 0) return whole + " in";
    return (whole > 0 ? whole + " " : "") + top + "/" + bottom + " in";
  };
  const show = () => {
    cross ??= draw("path", "cross");
    const c = drawn(at);
    cross.setAttribute("d", `M${c.x - 9} ${c.y}h18M${c.x} ${c.y - 9}v18`);
    if (anchor) {
      shade ??= draw("rect", "shade");
      shadeBetween(shade, drawn(anchor), c);
    }
    said.textContent = (anchor ? "Rectangle from " + words(anchor.x) + ", " + words(anchor.y) + " to " : "") +
      words(at.x) + " from the left end, " + words(at.y) + " from the edge near you";
  };
  const hide = () => {
    if (cross) cross.remove();
    cross = null;
    if (anchor) clear();
    anchor = null;
    said.textContent = "";
  };
  const keys = {
    ArrowLeft: (by) => { at.x -= by; }, ArrowRight: (by) => { at.x += by; }, ArrowUp: (by) => { at.y += by; }, ArrowDown: (by) => { at.y -= by; },
    Home: () => { at.x = 0; }, End: () => { at.x = length; }, PageUp: () => { at.x += length / 8; }, PageDown: () => { at.x -= length / 8; },
    Enter: () => {
      sessionStorage.setItem(remembered, JSON.stringify(at));
      if (anchor) sendRectangle(anchor, at);
      else send({ "tap-x": at.x, "tap-y": at.y });
    },
    " ": () => {
      if (anchor) keys.Enter();
      else anchor = { ...at };
    },
    Escape: () => { if (anchor) { clear(); anchor = null; } },
  };
  map.addEventListener("keydown", (event) => {
    const act = keys[event.key];
    if (!act || event.altKey || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    act(event.shiftKey ? step : stride);
    at = { x: Math.min(Math.max(at.x, 0), length), y: Math.min(Math.max(at.y, 0), width) };
    show();
  });
  map.addEventListener("focus", () => { if (map.matches(":focus-visible")) show(); });
  map.addEventListener("blur", hide);
  // After a defect was put down by keyboard the cross stands where it stood. The
  // address leads to a place on the page, which takes the focus away once more.
  const before = sessionStorage.getItem(remembered);
  if (before) {
    sessionStorage.removeItem(remembered);
    at = JSON.parse(before);
    window.addEventListener("load", () => setTimeout(() => {
      map.focus({ preventScroll: true });
      show();
    }));
  }
})();
