// The fields of one eye. What is typed is sent as soon as it is a whole number within its limits, else after a pause.
const PAUSE_MS = 700;
const ANSWERED_MS = 5000; // a change that has no picture by then brings none
const NUMBER = /^[+\-−–]?\s*(\d+([.,]\d*)?|[.,]\d+)$/;

const number = (text) => parseFloat(text.replace(/[−–]/, "-").replace(",", ".").replace(/\s/g, ""));
const decimals = (step) => (String(step).split(".")[1] || "").length;

function ready(input) {
  if (!("step" in input.dataset)) return !["refraction", "thickness_method", "residual"].includes(input.name);
  const text = input.value.trim();
  if (!NUMBER.test(text) || /[.,]$/.test(text)) return false;
  const value = number(text);
  if (input.dataset.signed && value !== 0 && !/^[+\-−–]/.test(text)) return false;
  return value >= +input.dataset.low && value <= +input.dataset.high;
}

function stepped(input, direction) {
  const step = +input.dataset.step;
  const text = input.value.trim() || input.placeholder || "0";
  if (!NUMBER.test(text)) return null;
  const low = +input.dataset.low, high = +input.dataset.high;
  const raised = Math.round((number(text) + direction * step) / step) * step;
  const places = Math.max(decimals(input.dataset.step), input.dataset.signed ? 2 : 0);
  const value = Math.min(high, Math.max(low, raised)).toFixed(places);
  if (+value === 0) return (0).toFixed(places);
  return value.replace("-", "−").replace(/^(?=\d)/, input.dataset.signed ? "+" : "");
}

function wire(form) {
  const state = { sequence: 0, revision: -1, side: "", spelling: "numbers", timer: 0, sent: "" };
  form.tissue = state;
  const inputs = form.querySelectorAll("input, select");

  const send = (input) => {
    clearTimeout(state.timer);
    state.timer = 0;
    const texts = {};
    for (const one of inputs) texts[one.name] = one.value;
    const said = JSON.stringify(texts);
    if (said === state.sent) return;
    state.sent = said;
    state.sequence += 1;
    if (!(performance.now() - window.tissueSentAt < ANSWERED_MS)) window.tissueSentAt = performance.now();
    state.set("entry", { side: state.side, revision: state.revision, sequence: state.sequence,
      spelling: state.spelling, last: input.name, texts });
  };
  const typed = (input) => {
    if (input.name === "refraction") state.spelling = "text";
    if (["sphere_D", "cylinder_D", "axis_deg"].includes(input.name)) state.spelling = "numbers";
  };

  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("input", ({ target }) => {
    typed(target);
    clearTimeout(state.timer);
    if (ready(target)) send(target);
    else state.timer = setTimeout(() => send(target), PAUSE_MS);
  });
  form.addEventListener("change", ({ target }) => send(target));
  form.addEventListener("keydown", (event) => {
    const input = event.target;
    if (event.key === "Enter" && input.matches("input")) send(input);
    const direction = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (!direction || !("step" in input.dataset)) return;
    event.preventDefault();
    const text = stepped(input, direction);
    if (text === null || text === input.value) return;
    input.value = text;
    typed(input);
    send(input);
  });
  form.addEventListener("focusin", ({ target }) => {
    if (!target.dataset || !target.dataset.help) return;
    const help = form.querySelector("#field-help");
    const name = form.querySelector(`label[for="${target.id}"]`).textContent;
    help.replaceChildren(Object.assign(document.createElement("b"), { textContent: name }),
      Object.assign(document.createElement("p"), { textContent: target.dataset.help }));
  });
}

function fill(form, data) {
  const state = form.tissue;
  const refilled = data.revision !== state.revision || data.side !== state.side;
  if (!refilled && data.sequence !== state.sequence) return;
  state.revision = data.revision;
  state.side = data.side;
  state.sequence = Math.max(state.sequence, data.sequence);
  if (refilled) {
    clearTimeout(state.timer);
    state.timer = 0;
  }
  // What still waits to be sent is not what the server knows: an answer to an earlier change neither counts it as sent
  // nor says in which spelling it was typed.
  const waiting = state.timer !== 0;
  if (!waiting) state.spelling = data.spelling;
  const texts = {};
  for (const input of form.querySelectorAll("input, select")) {
    const text = data.texts[input.name] || "";
    const active = input === input.ownerDocument.activeElement;
    if (refilled || !active) {
      if (input.value !== text) input.value = text;
    }
    texts[input.name] = input.value;
    if (input.matches("input")) {
      const other = data.placeholders[input.name] || "";
      if (input.placeholder !== other) input.placeholder = other;
    }
    const fault = data.faults[input.name] || "";
    const note = input.parentElement.querySelector(".fault");
    if (note.textContent !== fault) note.textContent = fault;
    note.hidden = !fault;
    if (fault) {
      input.setAttribute("aria-invalid", "true");
      const fold = input.closest("details");
      if (fold) fold.open = true;
    } else input.removeAttribute("aria-invalid");
  }
  if (!waiting) state.sent = JSON.stringify(texts);
}

export default function ({ data, parentElement, setStateValue }) {
  const form = parentElement.querySelector("form.tissue-fields");
  if (!form || !data) return;
  if (!form.tissue) wire(form);
  form.tissue.set = setStateValue;
  fill(form, data);
}
