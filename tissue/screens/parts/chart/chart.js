// One chart, drawn anew on a node that stays, so that zoom and place outlive every change.
const OUT_OF_SIGHT_MS = 1500; // what is not in sight is drawn when no change has come for so long, or when it comes into sight
const TELLING_MS = 150; // the width is told when it has been the same for so long
const TOLD_MS = 3000; // what was told is answered by then
let fonts = null, byHardware = null;

// Labels are measured once: drawn before the fonts are there they would sit some pixels off.
function fontsReady() {
  const wanted = ["400 12px 'Source Sans'", "700 12px 'Source Sans'", "italic 400 12px 'Source Serif'", "600 17px 'Source Serif'"];
  fonts ??= Promise.all(wanted.map((font) => document.fonts.load(font))).catch(() => null);
  return fonts;
}

// Known from observers, so that nothing forces the page to be laid out before the drawing.
const visible = (node) => node.tissue.seen ?? node.getBoundingClientRect().top < window.innerHeight;
const widthOf = (node) => (node.tissue.spec.fixed ? node.tissue.spec.width : node.tissue.width || node.clientWidth);

function shape(node, spec) {
  const layout = { ...spec.layout, width: Math.round(widthOf(node)) };
  if (spec.zoom) {
    const zoomed = node.tissue.zoom?.view === spec.zoom ? node.tissue.zoom.ranges : {};
    layout.dragmode = "zoom";
    for (const name of Object.keys(layout)) {
      if (!/^[xy]axis/.test(name)) continue;
      layout[name] = { ...layout[name], fixedrange: false, ...(zoomed[name] ? { range: zoomed[name] } : {}) };
    }
  }
  return [hardware() ? spec.data : spec.data.map(withoutHardware), layout];
}

// A browser that draws nothing by hardware draws clouds of points as it draws all else.
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
  if (spec.stands_for) node.dataset.for = spec.stands_for;
  node.dataset.drawn = String((+node.dataset.drawn || 0) + 1);
  performance.mark("tissue-drawn");
  dress(node, spec);
  equip(node, spec);
  if (visible(node)) answered();
  if (!node.tissue.wired) wire(node);
  tellWidth(node);
}

// Every picture that comes is another one than before. To look for what differs would take longer than to draw it. Where
// one can zoom, the library looks for it all the same, for it keeps where the zoom began.
function put(Plotly, node, data, layout) {
  const zooms = node.tissue.spec.zoom;
  if (!node.data || zooms) return Plotly.react(node, data, layout, { displayModeBar: false, responsive: false, doubleClick: "reset" });
  Object.assign(node, { data, layout });
  return Plotly.redraw(node);
}

function wire(node) {
  node.tissue.wired = true;
  // A click goes into the log of the page like whatever is typed: it is said again until it is answered.
  node.on("plotly_click", (event) => {
    const { x, y } = event.points[0], of = node.tissue.spec.clicks;
    if (of) window.tissueDesk.change("click", { ...of, x, y });
  });
  node.on("plotly_relayout", () => {
    rememberZoom(node);
    dress(node, node.tissue.spec);
  });
  node.on("plotly_doubleclick", () => {
    node.tissue.zoom = null;
    again(node);
  });
  new ResizeObserver(([{ contentRect }]) => {
    if (!contentRect.width || Math.abs(contentRect.width - node.tissue.width) <= 1) return;
    node.tissue.width = contentRect.width;
    again(node);
  }).observe(node);
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

// A zoom belongs to a view and outlives every change of the figure; a double click ends it.
function rememberZoom(node) {
  const ranges = {};
  for (const [name, axis] of Object.entries(node._fullLayout)) if (/^[xy]axis/.test(name)) ranges[name] = [...axis.range];
  node.tissue.zoom = { view: node.tissue.spec.zoom, ranges };
}

// The labels are placed for a width: another one is told, so that they can be placed anew. All charts stand in one column,
// so one of them tells it for all.
function tellWidth(node) {
  clearTimeout(node.tissueSaying);
  if (Math.abs(Math.round(widthOf(node)) - node.tissue.spec.width) <= 12) return;
  sayWhenFree(node, () => tell(node), TELLING_MS);
}

function tell(node) {
  const { columns, gap } = node.tissue.spec;
  const width = Math.round(widthOf(node)) * columns + gap * (columns - 1);
  const told = window.tissueTold;
  if (told && Math.abs(told.width - width) <= 12 && performance.now() - told.at < TOLD_MS) return;
  window.tissueTold = { width, at: performance.now() };
  // With the moment it is another message each time: a width that this chart told before another one told its own is news.
  node.tissue.state("width", [width, window.innerWidth, Math.round(performance.now())]);
}

const again = (node) => draw(node).catch((error) => node.tissue.state("failed", String(error)));

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
  if (visible(node)) again(node);
  else node.tissue.later = setTimeout(() => ((node.tissue.later = 0), again(node)), patient(OUT_OF_SIGHT_MS));
}
