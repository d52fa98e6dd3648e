// A change of the chart library, and the only one. At every drawing the library looks through its whole schema, trace by
// trace, for the attributes that hold lists. Which ones do follows from the trace alone, so the answer is kept: a third
// of the time of a drawing. A browser test holds that the library still asks here, and that a kept answer is its own.
function rememberLists(Plotly) {
  const schema = Plotly.PlotSchema;
  if (!schema || !schema.findArrayAttributes || schema.findArrayAttributes.kept) return;
  const search = schema.findArrayAttributes;
  const kept = new Map();
  const lists = (value, path, found) => {
    for (const [name, inner] of Object.entries(value)) {
      if (name[0] === "_" || inner === null || typeof inner !== "object") continue;
      if (Array.isArray(inner) || ArrayBuffer.isView(inner)) found.push(path + name + (inner.length ? "" : "-"));
      else lists(inner, `${path}${name}.`, found);
    }
    return found;
  };
  schema.findArrayAttributes = (trace) => {
    const key = `${trace.type} ${lists(trace, "", [])}`;
    if (!kept.has(key)) kept.set(key, search(trace));
    return [...kept.get(key)];
  };
  Object.assign(schema.findArrayAttributes, { kept, search });
}
