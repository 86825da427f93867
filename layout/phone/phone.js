(() => {
"use strict";
const root = document.documentElement;
const get = (id) => document.getElementById(id);
root.classList.remove("still"); // says that the page's script runs

// What is ticked or written is in the page itself; a store, where there is one, helps to find it again.
const key = "sheet-" + document.body.dataset.key + "-";
const store = (room) => {
  try {
    return window[room];
  } catch {
    return null;
  }
};
const read = (room, name) => {
  try {
    return store(room).getItem(key + name);
  } catch {
    return null;
  }
};
const write = (room, name, value) => {
  try {
    if (value) store(room).setItem(key + name, value);
    else store(room).removeItem(key + name);
  } catch {
    // a full or forbidden store is no reason to stop
  }
};

// Light and dark.
const dark = get("dark");
const wished = matchMedia("(prefers-color-scheme: dark)");
const show = () => {
  const look = root.dataset.look;
  dark.setAttribute("aria-checked", String(look ? look === "dark" : wished.matches));
};
const kept = read("localStorage", "look");
if (kept === "dark" || kept === "light") root.dataset.look = kept;
dark.addEventListener("click", () => {
  root.dataset.look = dark.getAttribute("aria-checked") === "true" ? "light" : "dark";
  write("localStorage", "look", root.dataset.look);
  show();
});
wished.addEventListener("change", show);
show();
get("print").addEventListener("click", () => window.print());

// The tape card: ticks last as long as the page is open.
const boxes = [...document.querySelectorAll(".ticks input")];
const count = () => {
  const done = boxes.filter((box) => box.checked).length;
  get("ticked").textContent = `${done} of ${boxes.length} ticked`;
};
const tick = (box, on) => {
  box.checked = on;
  write("sessionStorage", box.dataset.keep, on ? "1" : "");
};
for (const box of boxes) {
  if (read("sessionStorage", box.dataset.keep)) box.checked = true;
  box.addEventListener("change", () => {
    tick(box, box.checked);
    count();
  });
}
get("untick").addEventListener("click", () => {
  for (const box of boxes) tick(box, false);
  count();
});
count();

// What was jumped.
const fields = [...document.querySelectorAll(".runs input")];
const out = get("out");
for (const field of fields) {
  field.value = field.value || read("localStorage", field.dataset.keep) || "";
  field.addEventListener("input", () => write("localStorage", field.dataset.keep, field.value));
}
get("text").addEventListener("click", () => {
  const lines = [document.title];
  for (const run of document.querySelectorAll(".runs fieldset")) {
    const said = [...run.querySelectorAll("label")]
      .map((label) => [label.querySelector("span").firstChild.textContent.trim(), label.querySelector("input").value.trim()])
      .filter(([, value]) => value)
      .map(([name, value]) => `${name} ${value}`);
    if (said.length) lines.push(`${run.querySelector("legend").textContent}: ${said.join(", ")}`);
  }
  out.value = lines.length > 1 ? lines.join("\n") : "Nothing written yet.";
  out.parentElement.hidden = false;
  out.focus();
  out.select();
});
get("clear").addEventListener("click", () => {
  if (!fields.some((field) => field.value) || !window.confirm("Empty the whole table?")) return;
  for (const field of fields) {
    field.value = "";
    write("localStorage", field.dataset.keep, "");
  }
});

// The clip.
if (!get("frames")) return;
const film = JSON.parse(get("frames").textContent);
const summed = (steps) => {
  let at = 0;
  return steps.map((step) => (at += step));
};
const left = summed(film.left);
const tracks = film.tracks.map((track) => track.map(summed));
const parts = [...document.querySelectorAll("[data-track]")].map((part) => [part, tracks[part.dataset.track]]);
const notes = [...document.querySelectorAll("[data-frame]")];
const last = left.length - 1;
const zoom = film.scale / 1000;
const world = get("world");
const slider = get("moment");
const play = get("play");
let frame = film.poster;
let playing = false;
let speed = 0.25;
let rest = 0; // how long the frame shown is still held [s]
let before = 0;
let seen = true;

const draw = () => {
  world.setAttribute("transform", `translate(${-left[frame]} ${film.base})`);
  for (const [part, [x, z, turn]] of parts) {
    const move = `translate(${(x[frame] * zoom).toFixed(2)} ${(-z[frame] * zoom).toFixed(2)})`;
    part.setAttribute("transform", `${move}rotate(${-turn[frame] / 10})`);
  }
  for (const note of notes) {
    if (Number(note.dataset.frame) === frame) note.removeAttribute("display");
    else note.setAttribute("display", "none");
  }
  const here = film.moments.find((moment) => moment.frame === frame);
  const time = (frame * film.tick).toFixed(2);
  slider.value = frame;
  slider.setAttribute("aria-valuetext", `${time} seconds${here ? ", " + here.label : ""}`);
  get("clock").textContent = `${time} s of ${(last * film.tick).toFixed(2)} s, frame ${frame + 1} of ${last + 1}`;
  get("said").textContent = here ? `${here.label}: ${here.said}` : "";
};
const go = (to) => {
  frame = Math.min(Math.max(to, 0), last);
  draw();
};
const pause = () => {
  playing = false;
  play.textContent = "Play";
};
let at = frame; // where between two frames the clip is
const run = (now) => {
  if (!playing) return;
  const passed = Math.min((now - before) / 1000, 0.1);
  before = now;
  requestAnimationFrame(run);
  if (!seen) return;
  if (rest > 0) {
    rest -= passed;
    if (rest > 0) return;
    if (frame === last) at = 0;
  } else {
    at += (passed * speed) / film.tick;
  }
  let next = Math.min(Math.floor(at), last);
  for (const moment of film.moments) {
    if (moment.rest && frame < moment.frame && moment.frame <= next) {
      at = next = moment.frame;
      rest = moment.rest;
      break;
    }
  }
  if (next === last && frame !== last) rest = 0.8;
  if (next !== frame) go(next);
};
const start = () => {
  if (playing) return;
  playing = true;
  play.textContent = "Pause";
  at = frame === last ? 0 : frame;
  rest = 0;
  before = performance.now();
  requestAnimationFrame(run);
};
const hold = (to) => {
  pause();
  go(to);
};
play.addEventListener("click", () => (playing ? pause() : start()));
get("film").addEventListener("click", () => (playing ? pause() : start()));
get("back").addEventListener("click", () => hold(frame - 1));
get("on").addEventListener("click", () => hold(frame + 1));
slider.addEventListener("input", () => hold(Number(slider.value)));
for (const button of document.querySelectorAll("[data-go]")) {
  button.addEventListener("click", () => hold(Number(button.dataset.go)));
}
for (const choice of document.querySelectorAll("[name=speed]")) {
  choice.addEventListener("change", () => (speed = Number(choice.value)));
  if (choice.checked) speed = Number(choice.value);
}
new IntersectionObserver((found) => {
  seen = found[found.length - 1].isIntersecting;
}).observe(get("film"));
const calm = matchMedia("(prefers-reduced-motion: reduce)");
calm.addEventListener("change", () => calm.matches && hold(film.poster));
draw();
if (!calm.matches) {
  go(0);
  start();
}
})();
