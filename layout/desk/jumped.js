// Jumped: keys on the page for a finger, and the planned figures from another zero or in another unit.
const form = document.getElementById("jumped");
const keys = document.getElementById("keys");
const pads = [...form.querySelectorAll(".pad")];
const touched = matchMedia("(pointer: coarse)");
let at = pads[0];
let letters = false;

// The system's keyboard stays away where there is a finger, until it is asked for.
const quiet = () => {
  for (const pad of pads) {
    pad.dataset.mode ??= pad.inputMode;
    pad.inputMode = touched.matches && !letters ? "none" : pad.dataset.mode;
  }
};
const put = (text) => {
  const whole = at.value;
  const from = at.selectionStart ?? whole.length;
  const to = at.selectionEnd ?? whole.length;
  at.setRangeText(text, text || from !== to ? from : Math.max(from - 1, 0), to, "end");
};
const acts = {
  back: () => put(""),
  empty: () => (at.value = ""),
  next: () => {
    const then = pads[pads.indexOf(at) + 1];
    (then ?? form.querySelector("button.main")).focus();
  },
  board: () => {
    letters = !letters;
    quiet();
    at.blur();
    at.focus();
  },
};
for (const pad of pads) {
  pad.addEventListener("focus", () => (at = pad));
}
const mark = () => {
  for (const pad of pads) pad.classList.toggle("at", pad === at);
};
form.addEventListener("focusin", mark);
keys.addEventListener("pointerdown", (event) => {
  if (document.activeElement === at) event.preventDefault(); // the field keeps its place
});
keys.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  const { key, do: act } = button.dataset;
  if (key) put(key);
  else acts[act]();
  mark();
});
form.addEventListener("change", (event) => {
  if (!["from", "tape"].includes(event.target.name)) return;
  const asked = new URLSearchParams(new FormData(form));
  asked.delete("once");
  for (const [name, value] of [...asked]) if (!value) asked.delete(name);
  location.replace(`/jumped?${asked}`);
});
touched.addEventListener("change", quiet);
quiet();
mark();
