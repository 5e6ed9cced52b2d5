// Draws each table of readings over time, beside the table. Values, units and band come from the page as they stand.
const style = getComputedStyle(document.documentElement);
const colour = (name) => style.getPropertyValue(name).trim();
const SHAPES = { "as found": "--pencil", "as left": "--green", running: "--blue", "in between": "--soft" };
const HEIGHT = 260;

// uPlot wants one row of times and a row of values for each series
const readings = (table) => {
  const rows = [...table.tBodies[0].rows].filter((row) => row.dataset.value !== "").reverse();
  const names = [...new Set(rows.map((row) => row.dataset.series))];
  const times = rows.map((row) => Number(row.dataset.at));
  const values = names.map((name) => rows.map((row) => (row.dataset.series === name ? Number(row.dataset.value) : null)));
  return { names, data: [times, ...values] };
};

const band = (low, high) => (chart) => {
  const top = chart.valToPos(high, "y", true);
  const bottom = chart.valToPos(low, "y", true);
  const { left, width } = chart.bbox;
  chart.ctx.save();
  chart.ctx.fillStyle = colour("--wash");
  chart.ctx.strokeStyle = colour("--hair");
  chart.ctx.fillRect(left, top, width, bottom - top);
  chart.ctx.strokeRect(left, top, width, bottom - top);
  chart.ctx.restore();
};

const draw = (place) => {
  const { names, data } = readings(document.getElementById(place.dataset.table));
  if (data[0].length < 2 || place.firstChild) return;
  place.hidden = false;
  const low = Number(place.dataset.low);
  const high = Number(place.dataset.high);
  const banded = place.dataset.low !== "";
  const axis = { stroke: colour("--soft"), grid: { stroke: colour("--hair"), width: 1 }, ticks: { stroke: colour("--hair") },
    font: "14px system-ui, sans-serif" };
  const reach = (_, least, most) => {
    const from = banded ? Math.min(least, low) : least;
    const to = banded ? Math.max(most, high) : most;
    const room = (to - from || Math.abs(to) || 1) * 0.12;
    return [from - room, to + room];
  };
  const chart = new window.uPlot({
    width: place.clientWidth, height: HEIGHT,
    scales: { y: { range: reach } },
    axes: [axis, { ...axis, label: place.dataset.unit, labelFont: "14px system-ui, sans-serif", size: 60 }],
    series: [{ label: "when" }, ...names.map((name, at) => ({
      label: name, stroke: colour(SHAPES[name] ?? "--ink"), paths: () => null,
      points: { show: true, size: at % 2 ? 11 : 8, fill: at % 2 ? colour("--paper") : undefined, width: 2 },
    }))],
    hooks: banded ? { drawClear: [band(low, high)] } : {},
  }, data, place);
  new ResizeObserver(() => chart.setSize({ width: place.clientWidth, height: HEIGHT })).observe(place);
};

for (const place of document.querySelectorAll(".chart")) {
  place.setAttribute("role", "img");
  place.setAttribute("aria-label", "The readings over time; the numbers are in the table below");
  const holder = place.closest("details");
  if (holder.open) draw(place);
  holder.addEventListener("toggle", () => holder.open && draw(place));
}
