// The switch for the eye in the fields. Once another eye was chosen, nothing is typed into the fields until they are its own.
// It speaks for the patient of the fields, who may be a new one that this switch has not been told of yet.
const patient = () => document.querySelector("form.tissue-fields:not(.own)")?.tissue?.plan;

export default function ({ data, parentElement }) {
  const box = parentElement.querySelector(".tissue-eye");
  const desk = window.tissueDesk;
  if (!box || !data || desk.waitsFor(data)) return;
  for (const one of box.querySelectorAll("input")) {
    one.checked = one.value === data.side;
    one.onchange = () => desk.act("eye", { plan: patient() ?? data.plan, side: one.value });
  }
}
