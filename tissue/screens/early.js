// Asks for the chart library while the server still works out the first screen.
export default function ({ data }) {
  loaded(data).catch(() => null); // the chart that needs it says so
}
