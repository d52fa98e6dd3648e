// One chart, drawn anew on a node that stays, so that zoom and place outlive every change.
const OUT_OF_SIGHT_MS = 1500; // a chart out of sight is drawn after this long without a change, or when it scrolls into sight
const TELLING_MS = 150; // the width is reported once it has stayed the same for this long
const TOLD_MS = 3000; // by then the server has answered a reported width
const STILL_PX = 8; // a hand that moves farther between press and release has thought better of it
let fonts = null, byHardware = null;

// Labels are measured once. Measured before the fonts are loaded, they would be some pixels off.
function fontsReady() {
  const wanted = ["400 12px 'Source Sans'", "700 12px 'Source Sans'", "italic 400 12px 'Source Serif'", "600 17px 'Source Serif'"];
  fonts ??= Promise.all(wanted.map((font) => document.fonts.load(font))).catch(() => null);
  return fonts;
}

// Observers tell what is in sight and how wide it is: to ask the page would make the browser lay it out before the drawing.
const visible = (node) => node.tissue.seen ?? node.getBoundingClientRect().top < window.innerHeight;
const widthOf = (node) => (node.tissue.spec.fixed ? node.tissue.spec.width : node.tissue.width || node.clientWidth);

function shape(node, spec) {
  const layout = { ...spec.layout, width: Math.round(widthOf(node)) };
  if (spec.zoom) {
    const zoomed = node.tissue.zoom?.view === spec.zoom ? node.tissue.zoom.ranges : {};
    layout.dragmode = "zoom";
    for (const name of Object.keys(layout)) {
      if (!/^[xy]axis/.test(name)) continue;
      const range = zoomed[name] ?? layout[name].range;
      layout[name] = { ...layout[name], fixedrange: false, ...(range && { range: [...range] }) }; // a zoom writes into it
    }
  }
  return [hardware() ? spec.data : spec.data.map(withoutHardware), layout];
}

// Where the browser cannot draw by hardware, clouds of points are drawn like everything else.
const hardware = () => (byHardware ??= Boolean(document.createElement("canvas").getContext("webgl")));
const withoutHardware = (trace) => (trace.type === "scattergl" ? { ...trace, type: "scatter" } : trace);

async function draw(node) {
  const spec = node.tissue.spec;
  const [Plotly] = await Promise.all([loaded(spec.library), fontsReady()]);
  if (spec !== node.tissue.spec || !node.isConnected || !widthOf(node)) return;
  rememberLists(Plotly);
  const [data, layout] = shape(node, spec);
  await put(Plotly, node, data, layout);
  node.tissue.width = widthOf(node);
  node.tissue.clicks = spec.clicks;
  if (spec.stands_for) node.dataset.for = spec.stands_for;
  node.dataset.drawn = String((+node.dataset.drawn || 0) + 1);
  performance.mark("tissue-drawn");
  dress(node, spec);
  equip(node, spec);
  if (visible(node)) answered();
  if (!node.tissue.wired) wire(node);
  tellWidth(node);
}

// Every new picture differs from the last, and to look for the differences takes longer than to draw it anew. A picture
// that can be zoomed has one scale for both axes: only where it is compared does the library work its ranges out anew.
function put(Plotly, node, data, layout) {
  if (!node.data || node.tissue.spec.zoom) return Plotly.react(node, data, layout, { displayModeBar: false, responsive: false, doubleClick: false });
  Object.assign(node, { data, layout });
  return Plotly.redraw(node);
}

function wire(node) {
  node.tissue.wired = true;
  node.addEventListener("pointerdown", (event) => tookPlace(node, event), true);
  node.on("plotly_relayout", () => {
    if (node.tissue.zoomEnds) endZoom(node);
    else zoomed(node);
  });
  node.on("plotly_doubleclick", () => (node.tissue.zoomEnds = true)); // the library says its ranges only after this
  new ResizeObserver(([{ contentRect }]) => {
    if (!contentRect.width || Math.abs(contentRect.width - node.tissue.width) <= 1) return;
    node.tissue.width = contentRect.width;
    again(node);
  }).observe(node);
}

// A click goes into the log of the page like a typed value: it is sent again until the server has answered. It means the
// place where the hand went down; the library knows of no place where the picture is drawn anew between move and release.
function tookPlace(node, { button, isPrimary, pointerId, clientX, clientY }) {
  const of = node.tissue.clicks, place = of && placeAt(node, clientX, clientY);
  if (!place || button || !isPrimary) return;
  const ended = (end) => {
    if (end.pointerId !== pointerId) return;
    for (const name of ["pointerup", "pointercancel"]) document.removeEventListener(name, ended, true);
    const away = Math.hypot(end.clientX - clientX, end.clientY - clientY);
    if (end.type === "pointerup" && away <= STILL_PX) window.tissueDesk.change("click", { ...of, ...place });
  };
  for (const name of ["pointerup", "pointercancel"]) document.addEventListener(name, ended, true);
}

// The values at a place of the window, or null outside the axes.
function placeAt(node, left, top) {
  const { xaxis, yaxis } = node._fullLayout, box = node.getBoundingClientRect();
  const [across, down] = [left - box.x - xaxis._offset, top - box.y - yaxis._offset];
  if (across < 0 || down < 0 || across > xaxis._length || down > yaxis._length) return null;
  return { x: xaxis.p2d(across), y: yaxis.p2d(down) };
}

// A chart that scrolls into sight is drawn at once.
const sight = new IntersectionObserver((entries) => {
  for (const { target, isIntersecting } of entries) {
    target.tissue.seen = isIntersecting;
    if (!isIntersecting || !target.tissue.later) continue;
    clearTimeout(target.tissue.later);
    target.tissue.later = 0;
    again(target);
  }
});

// A zoom belongs to a view of one patient's eye and outlives every change of the figure; a double click ends it.
function zoomed(node) {
  const ranges = {};
  for (const [name, axis] of Object.entries(node._fullLayout)) if (/^[xy]axis/.test(name)) ranges[name] = [...axis.range];
  node.tissue.zoom = { view: node.tissue.spec.zoom, ranges };
  dress(node, node.tissue.spec);
}

function endZoom(node) {
  Object.assign(node.tissue, { zoom: null, zoomEnds: false });
  again(node);
}

// Labels are placed for one width. When it changes, the server is told and places them anew. All charts stand in one
// column, so one of them reports the width for all.
function tellWidth(node) {
  clearTimeout(node.tissueSaying);
  if (Math.abs(Math.round(widthOf(node)) - node.tissue.spec.width) <= 12) return;
  sayWhenFree(node, () => window.tissueDesk.inTurn(node, () => tell(node)), TELLING_MS);
}

function tell(node) {
  const { columns, gap } = node.tissue.spec;
  const width = Math.round(widthOf(node)) * columns + gap * (columns - 1);
  const told = window.tissueTold;
  if (told && Math.abs(told.width - width) <= 12 && performance.now() - told.at < TOLD_MS) return;
  window.tissueTold = { width, at: performance.now() };
  // The time makes every message a new one: else a width that this chart reported before another chart did is not sent.
  node.tissue.state("width", [width, window.innerWidth, Math.round(performance.now())]);
}

const again = (node) => draw(node).catch((error) => node.tissue.state("failed", String(error)));

// What is out of sight waits. While a handle is moved the figures, which take little, come before the picture sent with them.
function next(node) {
  const moved = [...node.tissue.items.values()].some((item) => item.drag), seen = visible(node);
  if (seen && !moved) return again(node);
  node.tissue.later = setTimeout(() => ((node.tissue.later = 0), again(node)), seen ? 0 : patient(OUT_OF_SIGHT_MS));
}

async function save(node, name) {
  const link = document.createElement("a");
  link.href = await window.Plotly.toImage(node, { format: "svg", width: node.clientWidth, height: node.clientHeight });
  link.download = name;
  link.click();
}

export default function ({ data, parentElement, setStateValue, setTriggerValue }) {
  const box = parentElement.querySelector(".tissue-chart");
  if (!box || !data) return;
  const node = box.querySelector(".plot");
  if (!node.tissue) {
    node.tissue = { items: new Map() };
    sight.observe(node);
  }
  node.tissue.trigger = (name, value) => window.tissueDesk.inTurn(node, () => setTriggerValue(name, value));
  node.tissue.state = (name, value) => window.tissueDesk.inTurn(node, () => setStateValue(name, value));
  const text = new TextDecoder().decode(data);
  if (text === node.tissue.text) return;
  node.tissue.text = text;
  const spec = (node.tissue.spec = JSON.parse(text));
  node.style.height = `${spec.layout.height}px`;
  node.style.width = spec.fixed ? `${spec.width}px` : "";
  node.setAttribute("aria-label", spec.alt);
  box.classList.toggle("tall", spec.tall);
  const button = box.querySelector(".save");
  button.hidden = !spec.file;
  button.setAttribute("aria-label", `Save as SVG: ${spec.title}`);
  button.onclick = () => save(node, spec.file);
  clearTimeout(node.tissue.later);
  next(node);
}
