// The eyes of a day. Sorting and filtering stay in the browser; opening one is an entry in the log of the page.
const figure = (text) => parseFloat(text.replace(/−/g, "-").replace(/^<\s*/, ""));

function inOrder(rows, column, down) {
  const by = (one) => one.cells[column];
  const numbers = rows.every((one) => by(one) === "" || by(one) === "–" || !Number.isNaN(figure(by(one))));
  const value = (one) => (numbers ? figure(by(one)) : by(one));
  const missing = (one) => (numbers ? Number.isNaN(value(one)) : value(one) === "");
  return [...rows].sort((a, b) => {
    if (missing(a) || missing(b)) return missing(a) - missing(b);
    const order = numbers ? value(a) - value(b) : value(a).localeCompare(value(b), undefined, { numeric: true });
    return down ? -order : order;
  });
}

// A cell whose text may part between its figures, but not within one: "< 0.1 /", "−1.00 × 15".
const WHOLE = /(?:< )?\S+(?: × \S+)?(?: \/)?/g;

function cellOf(text) {
  const cell = document.createElement("td");
  if (!/ [/×] |^< /.test(text)) cell.textContent = text;
  else for (const whole of text.match(WHOLE)) {
    if (cell.lastChild) cell.append(" ");
    cell.append(Object.assign(document.createElement("span"), { className: "whole", textContent: whole }));
  }
  return cell;
}

function shown(box) {
  const { heads, rows, column, down } = box.tissue;
  const wanted = box.querySelector("input").value.trim().toLowerCase();
  const left = rows.filter((one) => one.cells.join(" ").toLowerCase().includes(wanted));
  const sorted = column === null ? left : inOrder(left, column, down);
  const count = `${left.length} of ${rows.length} eyes`;
  const said = box.querySelector(".count");
  if (said.textContent !== count) said.textContent = count;
  const body = box.querySelector("tbody");
  const fresh = sorted.map((one, i) => {
    const row = document.createElement("tr");
    row.tabIndex = i === 0 ? 0 : -1;
    if (one.at) row.setAttribute("aria-current", "true");
    row.onclick = () => window.tissueDesk.act("open", { plan: one.plan, side: one.side });
    row.append(...one.cells.slice(0, -1).map(cellOf), Object.assign(document.createElement("td"), { textContent: one.cells.at(-1) }));
    return row;
  });
  const focused = [...body.children].indexOf(document.activeElement);
  body.replaceChildren(...fresh);
  if (focused >= 0) fresh[Math.min(focused, fresh.length - 1)]?.focus();
  box.querySelectorAll("th").forEach((head, i) => {
    if (i === column) head.setAttribute("aria-sort", down ? "descending" : "ascending");
    else head.removeAttribute("aria-sort");
  });
  return heads;
}

function wire(box) {
  box.querySelector("input").addEventListener("input", () => shown(box));
  box.querySelector("input").addEventListener("keydown", (event) => {
    if (event.key === "ArrowDown") box.querySelector("tbody tr")?.focus();
  });
  box.querySelector("tbody").addEventListener("keydown", (event) => {
    const row = event.target.closest("tr");
    if (event.key === "Enter") row.click();
    const next = { ArrowDown: row.nextElementSibling, ArrowUp: row.previousElementSibling }[event.key];
    if (next === undefined) return;
    event.preventDefault();
    next?.focus();
  });
}

function heads(box, words) {
  const row = box.querySelector("thead tr");
  row.replaceChildren(...words.map((word, i) => {
    const head = Object.assign(document.createElement("th"), { scope: "col" });
    const button = Object.assign(document.createElement("button"), { type: "button", textContent: word });
    button.onclick = () => {
      const state = box.tissue;
      state.down = state.column === i && !state.down;
      state.column = i;
      shown(box);
    };
    head.append(button);
    return head;
  }));
}

export default function ({ data, parentElement }) {
  const box = parentElement.querySelector(".tissue-day");
  if (!box || !data) return;
  const said = JSON.parse(new TextDecoder().decode(data));
  if (!box.tissue) {
    box.tissue = { column: null, down: false };
    wire(box);
    heads(box, said.heads);
  }
  Object.assign(box.tissue, said);
  shown(box);
  if (said.left > 0) window.tissueDesk.act("more");
}
