"use strict";
// Plays the clip drawn in a page or a part of it: moves its parts, by itself and by its buttons.
const summed = (steps) => {
  let at = 0;
  return steps.map((step) => (at += step));
};
const calm = matchMedia("(prefers-reduced-motion: reduce)");
let leave = () => {};

// The last frame of one figure's clip, and what moves its parts to a frame; `mark` ends its names.
const figured = (root, film, mark = "") => {
  const left = summed(film.left);
  const tracks = film.tracks.map((track) => track.map(summed));
  const parts = [...root.querySelectorAll("[data-track]")].map((part) => [part, tracks[part.dataset.track]]);
  const notes = [...root.querySelectorAll("[data-frame]")];
  const zoom = film.scale / 1000;
  const world = root.querySelector(`#world${mark}`);
  const last = left.length - 1;
  const move = (frame) => {
    world.setAttribute("transform", `translate(${-left[frame]} ${film.base})`);
    for (const [part, [x, z, turn]] of parts) {
      const at = `translate(${(x[frame] * zoom).toFixed(2)} ${(-z[frame] * zoom).toFixed(2)})`;
      part.setAttribute("transform", `${at}rotate(${-turn[frame] / 10})`);
    }
    for (const note of notes) {
      if (Number(note.dataset.frame) === frame) note.removeAttribute("display");
      else note.setAttribute("display", "none");
    }
  };
  return [last, move];
};

// `counted`: whether the clock tells which frame it is. Gives what shows the step contact and stays there.
const play = (root, counted = false) => {
  leave();
  const told = root.querySelector("#frames");
  if (!told) return () => {};
  const get = (id) => root.querySelector(`#${id}`);
  const film = JSON.parse(told.textContent);
  const [last, move] = figured(root, film);
  const [slider, button] = [get("moment"), get("play")];
  let [frame, at, rest, before, speed, playing, seen] = [film.poster, film.poster, 0, 0, 0.25, false, true];

  const draw = () => {
    move(frame);
    const here = film.moments.find((moment) => moment.frame === frame);
    const time = (frame * film.tick).toFixed(2);
    slider.value = frame;
    slider.setAttribute("aria-valuetext", `${time} seconds${here ? `, ${here.label}` : ""}`);
    const which = counted ? `, frame ${frame + 1} of ${last + 1}` : "";
    get("clock").textContent = `${time} s of ${(last * film.tick).toFixed(2)} s${which}`;
    get("said").textContent = here ? `${here.label}: ${here.said}` : "";
  };
  const go = (to) => {
    frame = Math.min(Math.max(to, 0), last);
    draw();
  };
  const pause = () => {
    playing = false;
    button.textContent = "Play";
  };
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
    playing = true;
    button.textContent = "Pause";
    at = frame === last ? 0 : frame;
    rest = 0;
    before = performance.now();
    requestAnimationFrame(run);
  };
  const turn = () => (playing ? pause() : start());
  const hold = (to) => {
    pause();
    go(to);
  };
  button.addEventListener("click", turn);
  get("film").addEventListener("click", turn);
  get("back").addEventListener("click", () => hold(frame - 1));
  get("on").addEventListener("click", () => hold(frame + 1));
  slider.addEventListener("input", () => hold(Number(slider.value)));
  for (const jump of root.querySelectorAll("[data-go]")) {
    jump.addEventListener("click", () => hold(Number(jump.dataset.go)));
  }
  for (const choice of root.querySelectorAll("[name=speed]")) {
    choice.addEventListener("change", () => (speed = Number(choice.value)));
    if (choice.checked) speed = Number(choice.value);
  }
  const watch = new IntersectionObserver((found) => {
    seen = found[found.length - 1].isIntersecting;
  });
  watch.observe(get("film"));
  leave = () => {
    playing = false;
    watch.disconnect();
  };
  draw();
  if (!calm.matches) {
    go(0);
    start();
  }
  return () => hold(film.poster);
};
