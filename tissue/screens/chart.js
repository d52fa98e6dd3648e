// One chart: Plotly.react on a node that stays, so that zoom and place outlive every change.
let library = null;
let fonts = null;

function loaded(url) {
  if (window.Plotly) return Promise.resolve(window.Plotly);
  library ??= new Promise((done, failed) => {
    const script = document.createElement("script");
    script.src = new URL(url, document.baseURI).href;
    script.onload = () => done(window.Plotly);
    script.onerror = () => failed(new Error("the chart library could not be loaded"));
    document.head.append(script);
  });
  return library;
}

// Labels are measured once: drawn before the fonts are there they would sit some pixels off.
function fontsReady() {
  const wanted = ["400 12px 'Source Sans'", "700 12px 'Source Sans'", "italic 400 12px 'Source Serif'", "600 17px 'Source Serif'"];
  fonts ??= Promise.all(wanted.map((font) => document.fonts.load(font))).catch(() => null);
  return fonts;
}

const visible = (node) => node.getBoundingClientRect().top < window.innerHeight + 80;

function shape(node, spec) {
  const layout = { ...spec.layout, width: Math.round(node.clientWidth), uirevision: spec.zoom || "fixed" };
  if (spec.zoom) {
    layout.dragmode = "zoom";
    for (const name of Object.keys(layout)) if (/^[xy]axis/.test(name)) layout[name] = { ...layout[name], fixedrange: false };
  }
  return [spec.data, layout];
}

async function draw(node) {
  const spec = node.tissue.spec;
  const [Plotly] = await Promise.all([loaded(spec.library), fontsReady()]);
  if (spec !== node.tissue.spec || !node.isConnected || !node.clientWidth) return;
  const [data, layout] = shape(node, spec);
  await Plotly.react(node, data, layout, { displayModeBar: false, responsive: false, doubleClick: "reset" });
  node.tissue.width = node.clientWidth;
  node.dataset.drawn = String((+node.dataset.drawn || 0) + 1);
  if (!node.tissue.wired) wire(node);
  tellWidth(node);
}

function wire(node) {
  node.tissue.wired = true;
  node.on("plotly_click", (event) => {
    const point = event.points[0];
    const said = { x: point.x, y: point.y, name: point.data.name || "", custom: point.customdata ?? null };
    if (node.tissue.spec.clicks) node.tissue.trigger("click", said);
  });
  new ResizeObserver(() => {
    if (Math.abs(node.clientWidth - node.tissue.width) > 1) again(node);
  }).observe(node);
}

// The labels are placed for a width: another one is told, so that they can be placed anew.
function tellWidth(node) {
  clearTimeout(node.tissue.telling);
  const width = Math.round(node.clientWidth);
  if (Math.abs(width - node.tissue.spec.width) <= 12) return;
  node.tissue.telling = setTimeout(() => node.tissue.state("width", width), 150);
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
  node.tissue ??= {};
  node.tissue.trigger = setTriggerValue;
  node.tissue.state = setStateValue;
  const text = new TextDecoder().decode(data);
  if (text === node.tissue.text) return;
  node.tissue.text = text;
  const spec = (node.tissue.spec = JSON.parse(text));
  node.style.height = `${spec.layout.height}px`;
  node.setAttribute("aria-label", spec.alt);
  const button = box.querySelector("button");
  button.hidden = !spec.file;
  button.setAttribute("aria-label", `Save as SVG: ${spec.title}`);
  button.onclick = () => save(node, spec.file);
  if (visible(node)) again(node);
  else requestAnimationFrame(() => setTimeout(() => again(node), 0));
}
