// The chart library, loaded once, however many ask for it.
function loaded(url) {
  if (window.Plotly) return Promise.resolve(window.Plotly);
  window.tissueLibrary ??= new Promise((done, failed) => {
    const script = document.createElement("script");
    script.src = new URL(url, document.baseURI).href;
    script.onload = () => done(window.Plotly);
    script.onerror = () => failed(new Error("the chart library could not be loaded"));
    document.head.append(script);
  });
  return window.tissueLibrary;
}

