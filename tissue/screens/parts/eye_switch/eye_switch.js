// The switch for the eye in the fields. Once another eye was chosen, nothing is typed into the fields until they are its own.
export default function ({ data, parentElement }) {
  const box = parentElement.querySelector(".tissue-eye");
  const desk = window.tissueDesk;
  if (!box || !data || data.late || data.answered < desk.awaits) return;
  for (const one of box.querySelectorAll("input")) {
    one.checked = one.value === data.side;
    one.onchange = () => desk.act("eye", { plan: data.plan, side: one.value });
  }
}
