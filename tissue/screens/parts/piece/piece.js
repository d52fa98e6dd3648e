// A piece of HTML that is changed in place: only what differs is touched, so that an open part stays open.
function match(old, fresh) {
  if (old.nodeType !== fresh.nodeType || old.nodeName !== fresh.nodeName) return old.replaceWith(fresh.cloneNode(true));
  if (old.nodeType !== Node.ELEMENT_NODE) {
    if (old.nodeValue !== fresh.nodeValue) old.nodeValue = fresh.nodeValue;
    return;
  }
  for (const { name, value } of fresh.attributes) if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  for (const { name } of [...old.attributes]) if (!fresh.hasAttribute(name) && name !== "open") old.removeAttribute(name);
  children(old, fresh);
}

function children(old, fresh) {
  const before = [...old.childNodes], after = [...fresh.childNodes];
  before.slice(after.length).forEach((node) => node.remove());
  after.forEach((node, i) => (i < before.length ? match(before[i], node) : old.append(node.cloneNode(true))));
}

export default function ({ data, parentElement }) {
  const box = parentElement.querySelector(".tissue-piece");
  if (!box || data === box.tissue) return;
  box.tissue = data;
  const fresh = document.createElement("template");
  fresh.innerHTML = new TextDecoder().decode(data);
  children(box, fresh.content);
}
