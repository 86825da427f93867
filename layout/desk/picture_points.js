// The points of a picture: their order, what is still needed, and the table they are sent as.
const limbs = (side, parts) => parts.map((part) => `${side} ${part}`);
export const BODY = [
  "hip", ...limbs("near", ["knee", "ankle", "heel", "toe"]), ...limbs("far", ["knee", "ankle", "heel", "toe"]),
  "shoulder", "head", ...limbs("near", ["elbow", "wrist"]), ...limbs("far", ["elbow", "wrist"]),
];
export const TYPED = ["marks", "pole", "rod", "camera", "nearer"];
const ENDS = { pole: ["upright a", "upright b"], rod: ["length a", "length b"] };
const LABELS = {
  "upright a": "foot of the pole", "upright b": "top of the pole",
  "length a": "one end of the known length", "length b": "its other end", head: "top of the head",
};
const MOST_MARKS = 12;
const BONES = [
  ...["near", "far"].flatMap((side) => [
    ["hip", `${side} knee`], [`${side} knee`, `${side} ankle`], [`${side} ankle`, `${side} heel`],
    [`${side} heel`, `${side} toe`], [`${side} ankle`, `${side} toe`],
    ["shoulder", `${side} elbow`], [`${side} elbow`, `${side} wrist`],
  ]),
  ["hip", "shoulder"], ["shoulder", "head"],
];

export const empty = () => ({
  at: {}, grain: {}, unseen: [], pick: "", runs: "", marks: "", pole: "", rod: "", camera: "", nearer: "",
  events: [], filmed: "", slower: "", wide: 0, high: 0,
});
export const readings = (state) => [...new Set(state.marks.split(/[\s;]+/).filter(Boolean))].slice(0, MOST_MARKS);
export const scaleNames = (state) => [
  ...readings(state).map((reading) => `mark ${reading}`),
  ...["pole", "rod"].flatMap((kind) => (state[kind].trim() ? ENDS[kind] : [])),
];
export const order = (state) => [...scaleNames(state), ...BODY];
export const labelOf = (name) => LABELS[name] ?? name.replace(/^mark /, "mark at ");
export const next = (state) =>
  state.pick || order(state).find((name) => !state.at[name] && !state.unseen.includes(name)) || "";

// What must be there before anything can be measured, in words.
export const lacking = (state) => {
  const there = (name) => Boolean(state.at[name]);
  const out = ["hip", "near knee", "far knee"].filter((name) => !there(name));
  for (const side of ["near", "far"]) {
    if (!limbs(side, ["ankle", "heel", "toe"]).some(there)) out.push(`a point of the ${side} foot`);
  }
  const marks = readings(state).filter((reading) => there(`mark ${reading}`));
  const rods = ["pole", "rod"].filter((kind) => state[kind].trim() && ENDS[kind].every(there));
  if (marks.length < 2 && !rods.length) out.push("two marks, a pole or a known length for the scale");
  return out;
};

// The same table that phasemark compare --measured reads; a click is as sure as the screen shows it.
export const table = (state) => {
  const lines = ["point;x;y;value"];
  const put = (name, [x, y], value = "") => lines.push(`${name};${x.toFixed(2)};${y.toFixed(2)};${value}`);
  const says = (name, value) => lines.push(`${name};;;${value}`);
  if (state.runs) says("runs", state.runs);
  const sent = order(state).filter((name) => state.at[name]);
  const grain = Math.max(...sent.map((name) => state.grain[name] ?? 1), 0);
  if (grain > 2) says("click", grain.toFixed(2));
  for (const name of ["camera", "nearer"]) if (state[name].trim()) says(name, state[name].trim());
  for (const name of BODY) if (state.at[name]) put(name, state.at[name]);
  for (const reading of readings(state)) if (state.at[`mark ${reading}`]) put("mark", state.at[`mark ${reading}`], reading);
  for (const [kind, ends] of Object.entries(ENDS)) {
    if (state[kind].trim() && ends.every((end) => state.at[end])) {
      for (const end of ends) put(end.split(" ")[0], state.at[end], state[kind].trim());
    }
  }
  return `${lines.join("\n")}\n`;
};
export const events = (state) =>
  state.events.map(({ end, at, gap }) => `${end} ${at.toFixed(6)} ${gap.toFixed(6)}`).join(";");

// Lines between points that stand, the far side's marked as such.
export const bones = (state) =>
  BONES.filter(([a, b]) => state.at[a] && state.at[b] && !(a.endsWith("ankle") && b.endsWith("toe") && state.at[a.replace("ankle", "heel")]))
    .map(([a, b]) => ({ from: state.at[a], to: state.at[b], far: `${a} ${b}`.includes("far ") }));

// About how many pixels a metre has, for closing in on the athlete; 0 where nothing says so.
export const pixels = (state) => {
  const number = (text) => Number.parseFloat(text.replace(",", "."));
  const marks = readings(state).filter((r) => state.at[`mark ${r}`]).map((r) => [number(r), state.at[`mark ${r}`]]);
  const pairs = marks.length > 1 ? [[marks[0][1], marks.at(-1)[1], Math.abs(marks.at(-1)[0] - marks[0][0])]] : [];
  for (const [kind, [a, b]] of Object.entries(ENDS)) {
    if (state.at[a] && state.at[b]) pairs.push([state.at[a], state.at[b], number(state[kind])]);
  }
  const found = pairs.map(([a, b, length]) => Math.hypot(a[0] - b[0], a[1] - b[1]) / length).filter((s) => s > 1 && s < 1e5);
  return found.length ? Math.max(...found) : 0;
};
