// Holds a value against the numbers the bench handed over, and works alignment out by its matrix. No formula here.

// A number as people type it; null for what only the book can read (another unit, say).
export const number = (text) => {
  const typed = text.trim().replace(/[−–]/g, "-");
  const mixed = /^([+-]?)(\d+)(?:\s+|\s*-\s*)(\d+)\s*\/\s*(\d+)$/.exec(typed) ?? /^([+-]?)()(\d+)\s*\/\s*(\d+)$/.exec(typed);
  if (mixed && Number(mixed[4])) {
    return (mixed[1] === "-" ? -1 : 1) * (Number(mixed[2]) + Number(mixed[3]) / Number(mixed[4]));
  }
  if (/^[+-]?[1-9]\d{0,2},\d{3}$/.test(typed)) return null;   // 1,500: the book asks back
  return /^[+-]?(\d+([.,]\d+)?|[.,]\d+)$/.test(typed) ? Number(typed.replace(",", ".")) : null;
};

// values: by field, SI numbers or words. Gives the rules that hold, each with its verdict.
export const held = (rules, values, age) => rules.filter((rule) => typeof values[rule.field] === "number"
  && (!rule.per || values[rule.per]) && Object.entries(rule.when).every(([name, word]) => values[name] === word)
  && rule.without.every((name) => values[name] === undefined) && (!rule.age || rule.age === age)).map((rule) => {
  const value = rule.per ? values[rule.field] / values[rule.per] : values[rule.field];
  if (rule.low !== null && value < rule.low) return { rule, verdict: "short", words: rule.below };
  if (rule.high !== null && value > rule.high) return { rule, verdict: "short", words: rule.above };
  return { rule, verdict: "good", words: rule.low !== null ? "in the band" : "within the limit" };
});

const times = (row, readings) => row.reduce((sum, share, at) => sum + share * readings[at], 0);

// gaps: four or eight, SI. Gives offset, angle and worst entry angle with their uncertainties, and the verdict.
export const inLine = (straight, which, gaps) => {
  const map = straight.maps[which];
  const readings = [...gaps, ...straight.rims];
  const [offset, angle] = [0, 1].map((at) => [times(map.matrix[at], readings), Math.sqrt(map.covariance[at][at])]);
  const entries = map.entry.map((row) => Math.abs(times(row, readings)));
  const worst = Math.max(...entries);
  const verdict = worst > straight.limit ? "short" : worst > straight.target ? "note" : "good";
  return { offset, angle, worst, verdict };
};

export const moves = (straight, line, length) => {
  const shown = (metres) => `${(metres / length.factor).toFixed(length.digits)} ${length.unit}`;
  const said = [];
  if (Math.abs(line.angle[0]) > line.angle[1]) {
    said.push(straight.moves[line.angle[0] > 0 ? "angle+" : "angle-"].replace("{x}", shown(Math.abs(line.angle[0]) * straight.rim)));
  }
  if (Math.abs(line.offset[0]) > line.offset[1]) {
    said.push(straight.moves[line.offset[0] > 0 ? "offset+" : "offset-"].replace("{x}", shown(Math.abs(line.offset[0]))));
  }
  return said;
};
