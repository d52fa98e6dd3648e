// While a screen is worked out the page pales, because its figures belong to the state before: as a whole, and only once
// it takes long. The library would pale each element by itself and at once, which costs a key press a fifth of its time.
const LONG_MS = 600;

if (!document.body.classList.contains("tissue-pales")) {
  document.body.classList.add("tissue-pales");
  let waiting = 0;
  const app = document.querySelector(".stApp");
  const looked = () => {
    const running = app.dataset.testScriptState === "running";
    if (running && !waiting) waiting = setTimeout(() => document.body.classList.add("tissue-pale"), LONG_MS);
    if (running || !waiting) return;
    clearTimeout(waiting);
    waiting = 0;
    document.body.classList.remove("tissue-pale");
  };
  new MutationObserver(looked).observe(app, { attributes: true, attributeFilter: ["data-test-script-state"] });
  looked();
}

