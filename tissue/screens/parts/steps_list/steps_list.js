// Numbered steps as buttons: a click or a key chooses one; the arrow keys go to the one before and the one after.
const ON = { ArrowDown: 1, ArrowRight: 1, ArrowUp: -1, ArrowLeft: -1 };

function build(box, items) {
  box.replaceChildren();
  items.forEach(() => {
    const item = document.createElement("li");
    const button = document.createElement("button");
    button.type = "button";
    button.append(document.createElement("b"), document.createElement("span"));
    item.append(button);
    box.append(item);
  });
}

export default function ({ data, parentElement, setTriggerValue }) {
  const box = parentElement.querySelector(".tissue-steps");
  if (!box || !data) return;
  const { items, now } = JSON.parse(new TextDecoder().decode(data));
  if (box.children.length !== items.length) build(box, items);
  const buttons = [...box.querySelectorAll("button")];
  const mark = (at) => buttons.forEach((button, i) => (i === at ? button.setAttribute("aria-current", "step") : button.removeAttribute("aria-current")));
  const choose = (at) => {
    mark(at);
    setTriggerValue("step", at);
  };
  buttons.forEach((button, i) => {
    const [head, sentence] = items[i];
    button.children[0].textContent = head;
    button.children[1].textContent = sentence;
    button.onclick = () => choose(i);
    button.onkeydown = (event) => {
      const next = i + (ON[event.key] ?? 0);
      if (next === i || !buttons[next]) return;
      event.preventDefault();
      buttons[next].focus();
      choose(next);
    };
  });
  mark(now);
}
