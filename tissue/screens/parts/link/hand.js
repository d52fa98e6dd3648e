// A button that asks for a file: all typed texts are sent first, the file is made from them and comes back over the link.
export default function ({ data, parentElement }) {
  const button = parentElement.querySelector(".tissue-hand button");
  if (!button || !data) return;
  button.textContent = data.label;
  button.title = data.help;
  button.onclick = () => (data.act ? window.tissueDesk.act(data.act, data.more) : window.tissueDesk.act("file", { file: data.file }));
}
