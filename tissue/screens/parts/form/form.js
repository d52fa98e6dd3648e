// The fields of one eye. A typed text is sent as soon as it is a complete number within its limits, otherwise after a pause.
const PAUSE_MS = 700;
const NUMBER = /^[+\-−–]?\s*(\d+([.,]\d*)?|[.,]\d+)$/;

const number = (text) => parseFloat(text.replace(/[−–]/, "-").replace(",", ".").replace(/\s/g, ""));
const decimals = (step) => (String(step).split(".")[1] || "").length;

const PAUSED = ["refraction", "thickness_method", "residual", "code", "reading_refraction"]; // texts of several signs
const REFRACTION = ["sphere_D", "cylinder_D", "axis_deg"];

function ready(input) {
  if (!input.value.trim()) return true; // not given any more
  if (!("step" in input.dataset)) return !PAUSED.includes(input.name);
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

// A typed text goes into the log of the page, one entry for each field. An answer writes into the fields only where it is newer
// than everything typed here, and never into what is being typed.
function wire(form) {
  const state = { timer: 0, typing: null, last: 0, written: 0, filled: 0, wrote: new Map() };
  form.tissue = state;
  const desk = window.tissueDesk;
  const about = (input) => ({ plan: state.plan, side: state.side, form: form.dataset.form ?? "", name: input.name });

  const send = (input) => {
    clearTimeout(state.timer);
    state.timer = 0;
    state.typing = null;
    desk.typing.delete(form);
    if (state.wrote.get(input.name) === input.value) return desk.pale();
    state.wrote.set(input.name, input.value);
    state.last = desk.edit({ ...about(input), text: input.value });
    if (input.name === "refraction") state.written = state.last;
  };
  const flush = () => {
    if (state.typing) send(state.typing);
  };
  desk.forms.add(flush);
  const typed = (input) => {
    if (state.typing && state.typing !== input) flush();
    clearTimeout(state.timer);
    if (ready(input)) return send(input);
    state.typing = input;
    desk.typing.add(form);
    desk.pale();
    state.timer = setTimeout(flush, PAUSE_MS);
  };

  // Another patient was asked for. begins: the name of a new one, whose empty fields these are from now on; else nothing is
  // taken until it is known whose they will be.
  const turn = (begins) => {
    if (!state.plan) return; // no patient's fields
    if (begins && !form.matches(".own")) return clear(form, begins);
    lock(form, true);
  };

  Object.assign(state, { typed, send, turn, refused: null });
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("input", ({ target }) => typed(target));
  form.addEventListener("change", ({ target }) => send(target));
  form.addEventListener("keydown", (event) => {
    const input = event.target;
    if (input.readOnly) return refuse(state, event);
    if (event.key === "Enter" && input.matches("input")) {
      send(input);
      if (form.dataset.enter) desk.change(form.dataset.enter, { plan: state.plan, side: state.side });
    }
    const direction = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (!direction || !("step" in input.dataset)) return;
    event.preventDefault();
    flush();
    // While a written refraction is on its way its numbers are not known here, so the server takes the step. An answer
    // arrives a little before its fields are filled: what counts is the answer that the fields show.
    if (REFRACTION.includes(input.name) && state.written > state.filled) {
      state.wrote.delete(input.name);
      state.last = desk.edit({ ...about(input), step: direction });
      return;
    }
    const text = stepped(input, direction);
    if (text === null || text === input.value) return;
    input.value = text;
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

const controls = (form) => form.querySelectorAll("input, select, button");

// A text whose first signs were not taken is not taken in its middle either: its field opens when it is left or pressed anew.
function lock(form, locked) {
  const state = form.tissue;
  if (locked) form.setAttribute("aria-busy", "true");
  else form.removeAttribute("aria-busy");
  if (locked || state.refused !== document.activeElement) state.refused = null;
  for (const one of controls(form)) {
    if (!one.matches("input")) one.disabled = locked;
    else if (one !== state.refused) one.readOnly = locked;
  }
}

function refuse(state, event) {
  const input = event.target;
  if (["ArrowUp", "ArrowDown", "Enter"].includes(event.key)) event.preventDefault();
  if (state.refused === input || (event.key.length > 1 && event.key !== "Backspace")) return;
  state.refused = input;
  const open = () => {
    state.refused = null;
    input.readOnly = input.form.hasAttribute("aria-busy");
  };
  for (const left of ["blur", "pointerdown"]) input.addEventListener(left, open, { once: true });
}

// The fields of a new patient, before the server has answered: nothing of the one before stands in them.
function clear(form, plan) {
  const right = document.querySelector(".tissue-eye input[value=OD]");
  if (right) right.checked = true; // the fields are the right eye's, and so says the switch
  fill(form, { desk: window.tissueDesk.name, plan, side: "OD", answered: window.tissueDesk.awaits, texts: {}, placeholders: {}, faults: {}, offer: "" }, []);
}

function write(input, text) {
  const known = input.matches("select") && ![...input.options].some((option) => option.value === text) ? "" : text;
  if (input.value !== known) input.value = known;
}

function fault(input, words) {
  const note = input.parentElement.querySelector(".fault");
  if (!note) return;
  if (note.textContent !== words) note.textContent = words;
  note.hidden = !words;
  if (!words) return input.removeAttribute("aria-invalid");
  input.setAttribute("aria-invalid", "true");
  const fold = input.closest("details");
  if (fold) fold.open = true;
}

// What was typed before this script was there: on a slow machine the fields stand for seconds before they are wired.
function typedEarly(form) {
  const first = (input) => (input.matches("select") ? input.options[0].value : "");
  return [...form.querySelectorAll("input, select")].filter((input) => input.value !== first(input));
}

function fill(form, data, early) {
  const state = form.tissue;
  if (window.tissueDesk.waitsFor(data)) return; // still the fields of the patient before
  const another = data.plan !== state.plan || data.side !== state.side;
  if (!another && data.answered < state.last) return;
  if (another && state.typing) state.send(state.typing); // it belongs to the eye that the fields showed until now
  Object.assign(state, { plan: data.plan, side: data.side, filled: data.answered });
  if (another) {
    clearTimeout(state.timer);
    Object.assign(state, { timer: 0, typing: null, last: 0, written: 0 });
    window.tissueDesk.typing.delete(form);
    form.dataset.plan = `${data.plan} ${data.side}`;
  }
  lock(form, false);
  for (const input of form.querySelectorAll("input, select")) {
    const text = data.texts[input.name] || "";
    if (early.includes(input)) state.wrote.set(input.name, text);
    else if (input !== state.typing) {
      write(input, text);
      state.wrote.set(input.name, input.value);
    }
    if (input.matches("input")) {
      const other = data.placeholders[input.name] || "";
      if (input.placeholder !== other) input.placeholder = other;
    }
    fault(input, data.faults[input.name] || "");
  }
  const offer = form.querySelector(".offer");
  if (offer) {
    offer.textContent = data.offer;
    offer.hidden = !data.offer;
    offer.onclick = () => window.tissueDesk.change("into_their_eyes", { plan: state.plan, side: state.side });
  }
  const map = form.querySelector(".own-map");
  if (map) {
    const [said, button] = map.children;
    said.textContent = data.own_map || "";
    button.textContent = data.own_map ? "see or remove" : "read a measured map";
    button.onclick = () => window.tissueDesk.act("map", { plan: state.plan, side: state.side });
  }
  for (const fold of form.querySelectorAll("details[data-group]")) {
    const given = fold.querySelector("summary span");
    const words = data.folds?.[fold.dataset.group] || "";
    if (given.textContent !== words) given.textContent = words;
  }
}

export default function ({ data, parentElement }) {
  const form = parentElement.querySelector("form.tissue-fields");
  if (!form || !data) return;
  const desk = window.tissueDesk, had = desk.name || sessionStorage.getItem(PAGE_KEPT) || "";
  if (had && had !== data.desk && had !== data.asked) return; // a page that returns waits for its former desk
  if (!form.tissue && desk.waitsFor(data)) return; // they are of the patient before
  desk.number = Math.max(desk.number, data.answered); // what is typed now comes after what this desk was told before
  const early = form.tissue ? [] : typedEarly(form);
  if (!form.tissue) wire(form);
  fill(form, data, early);
  early.forEach(form.tissue.typed);
}
