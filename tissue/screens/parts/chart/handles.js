// Handles that are moved in a picture by pointer, by touch, or by focus and arrow keys. Their line is drawn here, in the frame in
// which the hand has moved; the picture of the new plan follows as after any other entry.
const SVG = "http://www.w3.org/2000/svg";
const DASHES = { dot: "2 3", dash: "9 5", solid: "none", dashdot: "9 4 2 4" };
const FAR = { PageUp: ["ArrowUp", 10], PageDown: ["ArrowDown", 10] };
const BESIDE_PX = 14; // distance of the value from the place that is grasped

// Beside the handles of the other eye the name of a handle includes its eye.
const nameOf = (node, { label }) => [label, node.tissue.spec.moves?.eye].filter(Boolean).join(", ");

const part = (by, i) => (Array.isArray(by) ? by[i] : by);

// Pixels of a place on axes that may be zoomed, and pixels for one unit of each value.
function pixels(node, axes, x, y) {
  const { [`xaxis${axes}`]: across, [`yaxis${axes}`]: down } = node._fullLayout;
  return [across._offset + across.d2p(x), down._offset + down.d2p(y)];
}

function waysOf(node, place) {
  const [x, y] = pixels(node, place.axes, 0, 0);
  return place.by.map((by) => {
    const [toX, toY] = pixels(node, place.axes, ...by);
    return [toX - x, toY - y];
  });
}

// The place of a point for the present value.
function placed(node, item, place, x, y, i = 0) {
  const to = item.at.reduce(([toX, toY], value, k) => {
    const more = value - item.spec.values[k], [right, up] = place.by[k];
    return [toX + more * part(right, i), toY + more * part(up, i)];
  }, [x, y]);
  return pixels(node, place.axes, ...to);
}

const outline = (node, item, place, [xs, ys]) =>
  `M${xs.map((x, i) => placed(node, item, place, x, ys[i], i).map((px) => px.toFixed(1)).join(" ")).join("L")}`;

// A value as it is shown, as it is typed, and in words.
const shownAs = (spec, value) => value.toFixed(spec.places).replace(/^-(0(\.0*)?)$/, "$1").replace("-", "−");
const typed = (spec, value) => String(+value.toFixed(spec.places) || 0);

function inWords(spec, values, unit) {
  if (!spec.towards) return `${shownAs(spec, values[0])} ${unit}`;
  const parts = values.map((value, k) => [Math.abs(value), spec.towards[k][value < 0 ? 0 : 1]]);
  const said = parts.filter(([size]) => size > 1e-9).map(([size, word]) => `${shownAs(spec, size)} ${unit} ${word}`);
  return said.join(", ") || spec.nowhere;
}

function snapped(spec, values) {
  const held = (value, k) => Math.min(spec.high[k], Math.max(spec.low[k], Math.round(value / spec.step) * spec.step));
  return values.map((value, k) => +held(value, k).toFixed(spec.places));
}

function element(parent, name, kind) {
  const made = parent instanceof SVGElement ? document.createElementNS(SVG, name) : document.createElement(name);
  made.setAttribute("class", kind);
  parent.append(made);
  return made;
}

// The elements of a handle, and the focus with them, stay as long as the picture has a handle of that name.
function built(node, layer, spec) {
  const item = { spec, at: [...spec.values], drag: null, group: element(layer.firstElementChild, "g", "handle") };
  item.lines = spec.lines.map(() => element(item.group, "path", "line"));
  item.along = spec.grips.map((one) => one.along && element(item.group, "path", "along"));
  item.grips = spec.grips.map((one) => !one.bare && element(layer, "div", "grip"));
  item.value = element(layer, "div", "value");
  item.value.setAttribute("aria-hidden", "true");
  item.all = [...item.along, ...item.grips].filter(Boolean);
  spec.grips.forEach((_, i) => [item.along[i], item.grips[i]].filter(Boolean).forEach((one) => grasp(node, item, one, i)));
  const slider = item.grips[0];
  slider.tabIndex = 0;
  slider.setAttribute("role", "slider");
  slider.title = `${nameOf(node, spec)}: drag it, or stand on it and use the arrow keys`;
  slider.addEventListener("keydown", (event) => pressed(node, item, event));
  slider.addEventListener("focus", () => paint(node, item));
  slider.addEventListener("blur", () => {
    if (item.drag && !item.drag.pointer) over(item.drag);
    paint(node, item);
  });
  return item;
}

function grasp(node, item, one, i) {
  if (one !== item.grips[0]) one.setAttribute("aria-hidden", "true");
  one.addEventListener("pointerdown", (event) => {
    if (event.button || item.drag?.back) return;
    event.preventDefault();
    item.grips[0].focus({ preventScroll: true });
    const drag = begin(node, item);
    Object.assign(drag, { pointer: true, grip: i, hand: [event.clientX, event.clientY] });
    anchor(drag);
    one.setPointerCapture(event.pointerId);
    paint(node, item);
  });
  one.addEventListener("pointermove", ({ clientX, clientY }) => {
    const { drag } = item;
    if (!drag?.pointer || drag.over) return;
    drag.hand = [clientX, clientY];
    const [gone, fell] = [clientX - drag.from[0], clientY - drag.from[1]];
    set(drag, drag.then.map((value, k) => value + (gone * drag.ways[k][0] + fell * drag.ways[k][1]) / drag.long[k]));
  });
  for (const name of ["pointerup", "pointercancel", "lostpointercapture"]) {
    one.addEventListener(name, () => item.drag?.pointer && over(item.drag));
  }
}

// The value follows the hand from the place where it was grasped; a picture at another scale sets a new start.
function anchor(drag) {
  const { node, item, hand } = drag, one = item.spec.grips[drag.grip];
  Object.assign(drag, { from: [...hand], then: [...item.at], ways: waysOf(node, one) });
  if (one.about) {
    const box = node.getBoundingClientRect(), [x, y] = pixels(node, one.axes, ...one.about);
    const away = [hand[0] - box.x - x, hand[1] - box.y - y];
    drag.ways = [away.map((px) => (px * Math.hypot(...drag.ways[0])) / (Math.hypot(...away) || 1))];
  }
  drag.long = drag.ways.map(([x, y]) => x * x + y * y);
}

function pressed(node, item, event) {
  const { spec, drag } = item, [key, times] = FAR[event.key] ?? [event.key, 1], step = spec.keys[key];
  const open = drag && !drag.over;
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if (open && event.key === "Enter") return over(drag);
  if (open && event.key === "Escape") return takeBack(drag);
  if (open && event.key.toLowerCase() === "k") return window.tissueDesk.act("keep_start", { plan: drag.plan });
  if (!step) return;
  event.preventDefault();
  set(open ? drag : begin(node, item), item.at.map((value, k) => value + step[k] * times * spec.step));
}

// After a drawing: put the handles of this picture into their places. One that is being moved keeps the hand's value.
function dress(node, spec) {
  const { items } = node.tissue, layer = node.parentElement.querySelector(".handles");
  const given = spec.moves ? spec.layout.meta?.handles ?? [] : [];
  const names = given.map((one) => one.names.join());
  for (const [name, item] of items) if (!names.includes(name) && !item.drag) remove(items, name);
  for (const [i, one] of given.entries()) dressOne(node, layer, names[i], one, spec.moves);
  layer.style.height = node.style.height; // asking for its real height would force a layout before it is drawn
}

function dressOne(node, layer, name, spec, moves) {
  const { items } = node.tissue, under = items.get(name)?.drag;
  if (under && (under.plan !== moves.plan || under.side !== moves.side)) end(under);
  const kind = JSON.stringify([spec.lines.length, spec.grips.map((one) => [Boolean(one.along), Boolean(one.bare)])]);
  if (items.has(name) && items.get(name).kind !== kind && !items.get(name).drag) remove(items, name);
  if (!items.has(name)) items.set(name, Object.assign(built(node, layer, spec), { kind }));
  const item = items.get(name), { drag } = item;
  if (item.kind !== kind) return paint(node, item);
  item.spec = spec;
  if (drag) drag.drawn = [...spec.values];
  else item.at = [...spec.values];
  if (drag?.pointer && !drag.over && rescaled(drag)) anchor(drag);
  paint(node, item);
}

function rescaled(drag) {
  const one = drag.item.spec.grips[drag.grip];
  const long = waysOf(drag.node, one).map(([x, y]) => x * x + y * y);
  return long.some((size, k) => Math.abs(size / drag.long[k] - 1) > 1e-3);
}

function remove(items, name) {
  const { group, all, value } = items.get(name);
  [group, ...all, value].forEach((one) => one.remove());
  items.delete(name);
}

// Give every part of a handle its place and colour. What is unchanged is left alone and what is hidden is not drawn: this
// runs once for every picture, in the frame in which it must appear.
function paint(node, item) {
  const { spec } = item, slider = item.grips[0];
  const active = item.drag ? !item.drag.back : slider.matches(":focus-visible");
  say(slider, "aria-label", nameOf(node, spec));
  say(slider, "aria-valuemin", spec.low[0]);
  say(slider, "aria-valuemax", spec.high[0]);
  say(slider, "aria-valuenow", item.at[0]);
  say(slider, "aria-valuetext", inWords(spec, item.at, spec.spoken));
  [item.group, ...item.grips, item.value].forEach((one) => one && one.classList.toggle("shown", active));
  if (active) trace(node, item);
  stand(node, item);
}

function say(one, name, value) {
  if (one.getAttribute(name) !== String(value)) one.setAttribute(name, value);
}

// Its lines and its value, which are visible while it is moved.
function trace(node, item) {
  const { spec } = item, { colour, width, dash } = spec.line;
  const look = `stroke:${colour};stroke-width:${width}px;stroke-dasharray:${DASHES[dash]}`;
  item.lines.forEach((path, i) => {
    path.setAttribute("d", outline(node, item, spec.lines[i], [spec.lines[i].x, spec.lines[i].y]));
    say(path, "style", look);
  });
  item.value.classList.toggle("left", Boolean(spec.value_left));
  item.value.textContent = inWords(spec, item.at, spec.unit);
  const [left, top] = placed(node, item, spec.grips[0], spec.grips[0].x, spec.grips[0].y);
  const beside = left + (spec.value_left ? -BESIDE_PX : BESIDE_PX);
  Object.assign(item.value.style, { left: `${beside}px`, top: `${top - BESIDE_PX - 18}px` });
}

// Where it is grasped.
function stand(node, item) {
  const { spec } = item;
  spec.grips.forEach((one, i) => {
    if (item.along[i]) say(item.along[i], "d", outline(node, item, one, one.along));
    if (!item.grips[i]) return;
    const [left, top] = placed(node, item, one, one.x, one.y);
    Object.assign(item.grips[i].style, { left: `${left}px`, top: `${top}px` });
  });
  const ways = waysOf(node, spec.grips[0]), [[right, down]] = ways.map((way) => way.map(Math.abs));
  const way = ways.length > 1 ? "move" : right > 2 * down ? "ew-resize" : down > 2 * right ? "ns-resize" : "nwse-resize";
  if (item.hue === spec.line.colour && item.way === way) return;
  Object.assign(item, { hue: spec.line.colour, way });
  item.grips.filter(Boolean).forEach((one) => one.style.setProperty("--hue", item.hue));
  item.all.forEach((one) => one.style.setProperty("--way", way));
}
