// Two ways: both figures are worked out one after the other, then play together, held at the step contact.
const get = (id) => document.getElementById(id);
const [box, state, done, stop, again, pair] = ["ways", "state", "done", "stop", "again", "pair"].map(get);
const LOOK = 200; // how often the work is looked at [ms]
const HELD = 1.6; // how long the step contact is held [s]
const asked = new URLSearchParams(location.search);
asked.delete("work");
asked.set("of", box.dataset.of);
let turn = 0;

const ask = async (path, post) => {
  const how = post ? { method: "POST", body: asked } : {};
  return (await fetch(post ? path : `${path}?${asked}`, how)).json();
};
const say = (text, { working = false, wish = false, at = 0 } = {}) => {
  if (state.textContent !== text) state.textContent = text;
  done.hidden = stop.hidden = !working;
  again.hidden = !wish;
  done.value = at;
};
const told = (found) => {
  const { name, why, solved, done: step = 0, steps } = found;
  if (found.state === "failed") say(`${name}: not possible. ${why}`);
  else if (found.state !== "working") say(`${name}: not worked out.`, { wish: true });
  else {
    const at = (solved + (steps ? Math.min(step / steps, 1) : 0)) / 2;
    say(`${name}: being worked out (${solved} of 2 done).`, { working: true, at });
  }
};

const together = () => {
  const films = [1, 2].map((n) => JSON.parse(get(`frames-${n}`).textContent));
  const moves = films.map((film, i) => figured(pair.querySelectorAll("figure")[i], film, `-${i + 1}`));
  const tick = Math.min(...films.map((film) => film.tick));
  const ends = films.map((film, i) => [-film.poster * film.tick, (moves[i][0] - film.poster) * film.tick]);
  const first = Math.ceil(Math.max(...ends.map((end) => end[0])) / tick);
  const last = Math.floor(Math.min(...ends.map((end) => end[1])) / tick);
  const [slider, button, clock] = ["moment", "play", "clock"].map(get);
  let [frame, at, rest, before, speed, playing] = [0, 0, 0, 0, 0.25, false];
  [slider.min, slider.max] = [first, last];
  const go = (to) => {
    frame = Math.min(Math.max(to, first), last);
    films.forEach((film, i) => moves[i][1](film.poster + Math.round((frame * tick) / film.tick)));
    slider.value = frame;
    const time = `${Math.abs(frame * tick).toFixed(2)} s`;
    clock.textContent = frame === 0 ? "At the step contact" : `${time} ${frame < 0 ? "before" : "after"} the step contact`;
    slider.setAttribute("aria-valuetext", clock.textContent);
  };
  const pause = () => {
    playing = false;
    button.textContent = "Play both";
  };
  const run = (now) => {
    if (!playing || !slider.isConnected) return;
    const passed = Math.min((now - before) / 1000, 0.1);
    before = now;
    requestAnimationFrame(run);
    if (rest > 0) {
      rest -= passed;
      if (rest <= 0 && frame === last) at = first;
      return;
    }
    at += (passed * speed) / tick;
    let next = Math.min(Math.floor(at), last);
    if (frame < 0 && next >= 0) [at, next, rest] = [0, 0, HELD];
    else if (next === last) rest = 0.8;
    if (next !== frame) go(next);
  };
  const start = () => {
    playing = true;
    button.textContent = "Pause";
    at = frame === last ? first : frame;
    rest = 0;
    before = performance.now();
    requestAnimationFrame(run);
  };
  const hold = (to) => {
    pause();
    go(to);
  };
  button.addEventListener("click", () => (playing ? pause() : start()));
  get("back").addEventListener("click", () => hold(frame - 1));
  get("on").addEventListener("click", () => hold(frame + 1));
  get("hold").addEventListener("click", () => hold(0));
  slider.addEventListener("input", () => hold(Number(slider.value)));
  for (const choice of pair.querySelectorAll("[name=speed]")) {
    choice.addEventListener("change", () => (speed = Number(choice.value)));
    if (choice.checked) speed = Number(choice.value);
  }
  go(0);
  if (!calm.matches) {
    go(first);
    start();
  }
};

const work = async () => {
  const mine = ++turn;
  try {
    let found = await ask("/ways/solve", true);
    let solved = found.solved;
    while (mine === turn && found.state === "working") {
      told(found);
      await new Promise((go) => setTimeout(go, LOOK));
      found = await ask("/ways/told");
      if (found.state === "sketch" && found.solved > solved) {
        solved = found.solved;
        found = await ask("/ways/solve", true);
      }
    }
    if (mine !== turn) return;
    if (found.state !== "solved") return told(found);
    pair.innerHTML = found.html;
    say("Both worked out for this spacing.");
    together();
  } catch {
    say("The desk does not answer. Is phasemark desk still running?");
  }
};
stop.addEventListener("click", async () => {
  turn += 1;
  await fetch("/stop", { method: "POST" });
  say("Stopped; not worked out.", { wish: true });
});
again.addEventListener("click", work);
if (box.dataset.state === "solved") together();
else if (box.dataset.state !== "failed") work();
