// At the end of every run: notes up to which entry of the log the page shows the figures, and what they stand for.
export default function ({ data, parentElement }) {
  const note = parentElement.querySelector(".tissue-for");
  if (!note || !data) return;
  const desk = window.tissueDesk;
  if (data.desk !== desk.name) return;
  desk.shown = Math.max(desk.shown, data.answered);
  desk.wrong = data.wrong;
  if (data.plan) desk.plan = data.plan;
  if (desk.edited <= desk.shown || !note.textContent) note.textContent = data.words;
  desk.pale();
}
