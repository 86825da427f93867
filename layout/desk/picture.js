// Picture: a photo or a frame of a video, its points tapped one after another and measured by the desk.
import { BODY, TYPED, bones, empty, events, lacking, next, order, pixels, table } from "/picture_points.js";
import { chips, chosen, told } from "/picture_lists.js";
import { Trouble, open } from "/picture_reel.js";
import { Stage } from "/picture_stage.js";

const get = (id) => document.getElementById(id);
const shot = get("shot");
const CLOSE = 2.3; // how much of the runway is seen once scale and hip are there [m]
const STEP = 24; // of a swipe that goes one frame on [px]
const MOST_UNDO = 200;
const WAIT = 120; // how long points rest before they are measured [ms]

if (shot) {
  const asked = new URLSearchParams(location.search);
  const key = `points-${shot.dataset.a}-${shot.dataset.at}`; // numbers only: no name, nothing of the picture
  const [next_, trouble, reelBox, when, clock, measured, aim] = ["next", "trouble", "reel", "when", "clock", "measured", "aim"].map(get);
  let state = empty();
  let past = [];
  let reel = null;
  let over = [];
  let turned = 0;
  let held = "";
  let closed = false; // whether the view has closed in on the athlete by itself
  let busy = Promise.resolve();

  const remember = () => {
    past.push(JSON.stringify(state));
    if (past.length > MOST_UNDO) past.shift();
  };
  const store = () => {
    try {
      sessionStorage.setItem(key, JSON.stringify({ ...state, pick: "" }));
    } catch {
      // Where nothing can be stored, only a reload loses the points.
    }
  };
  const fail = (text) => {
    trouble.textContent = text;
    trouble.hidden = !text;
  };

  const stage = new Stage(get("look"), get("loupe"), {
    scene: () => ({
      over: aim.checked ? over : [],
      bones: bones(state),
      points: order(state).filter((name) => state.at[name]).map((name) => ({
        at: state.at[name], held: name === held,
        kind: BODY.includes(name) ? (name.startsWith("far ") ? "far" : "near") : "scale",
      })),
    }),
    held: () => state.at[held] ?? null,
    put: (x, y, grain) => {
      const name = next(state);
      if (!name) {
        return false;
      }
      remember();
      held = name;
      state.at[name] = [x, y];
      state.grain[name] = grain;
      state.unseen = state.unseen.filter((other) => other !== name);
      return true;
    },
    shift: (x, y) => {
      if (state.at[held]) state.at[held] = [x, y];
    },
    cancel: () => {
      if (past.length) state = JSON.parse(past.pop());
    },
    done: () => {
      state.pick = "";
      changed();
    },
  });

  const say = (text) => {
    if (next_.textContent !== text) next_.textContent = text;
  };
  const fields = () => {
    for (const name of TYPED) if (get(name).value !== state[name]) get(name).value = state[name];
    get("filmed").value = state.filmed;
    for (const radio of document.querySelectorAll("[name=runs]")) radio.checked = radio.value === state.runs;
  };
  const shown = () => {
    chips(get("points"), state);
    chosen(get("events"), state);
    say(told(state, Boolean(reel)));
    get("undo").disabled = !past.length;
    get("unseen").disabled = !next(state) || Boolean(state.pick);
    stage.draw();
  };
  const changed = () => {
    store();
    shown();
    closeIn();
    ask();
  };
  const closeIn = () => {
    const scale = pixels(state);
    if (!closed && stage.all && scale && state.at.hip) {
      closed = true;
      // Where it stands above the picture, closing it would move the picture under the finger.
      if (matchMedia("(min-width: 64rem)").matches) get("scale").open = false;
      stage.near(...state.at.hip, CLOSE * scale);
    }
  };

  // --- measured by the desk, the newest points only
  let waiting = 0;
  let asking = false;
  let more = false;
  let turn = 0; // of the points: what was measured of older ones is dropped
  const sent = () => ({
    ...Object.fromEntries(asked), at: shot.dataset.at, points: table(state), events: events(state), slower: state.slower,
    on: get("day").value,
  });
  const ask = () => {
    clearTimeout(waiting);
    turn += 1;
    measured.classList.add("late");
    waiting = setTimeout(measure, WAIT);
  };
  const measure = async () => {
    if (asking) {
      more = true;
      return;
    }
    asking = true;
    try {
      do {
        more = false;
        const mine = turn;
        const still = lacking(state);
        if (still.length) {
          over = [];
          measured.replaceChildren();
          if (Object.keys(state.at).length) {
            const line = document.createElement("p");
            line.className = "told";
            line.textContent = `Still needed: ${still.join(", ")}.`;
            measured.append(line);
          }
          get("keep-it").disabled = true;
          measured.classList.remove("late");
          continue;
        }
        const answer = await fetch("/measure", { method: "POST", body: new URLSearchParams(sent()) });
        const got = await answer.json();
        if (mine !== turn) continue;
        over = got.over ?? [];
        if (got.state === "ok") measured.innerHTML = got.html;
        else {
          const list = document.createElement("ul");
          list.className = "mind";
          list.append(...[got.why].flat().map((text) => Object.assign(document.createElement("li"), { textContent: text })));
          measured.replaceChildren(list);
        }
        get("keep-it").disabled = got.state !== "ok";
        measured.classList.remove("late");
      } while (more);
      stage.draw();
    } catch {
      fail("The desk does not answer. Is phasemark desk still running? Your points stay here.");
    } finally {
      asking = false;
    }
  };

  // --- the picture and its frames
  const upright = async (frame) => {
    if (!turned) return frame;
    const across = turned % 2;
    const [wide, high] = across ? [frame.height, frame.width] : [frame.width, frame.height];
    const sheet = new OffscreenCanvas(wide, high);
    const ink = sheet.getContext("2d");
    ink.translate(wide / 2, high / 2);
    ink.rotate((turned * Math.PI) / 2);
    ink.drawImage(frame, -frame.width / 2, -frame.height / 2);
    return sheet.transferToImageBitmap();
  };
  const look = async (keep) => {
    stage.show(await upright(reel.frame), keep);
    if (reel.still) return;
    when.max = reel.end;
    when.value = reel.now;
    clock.textContent = `${reel.now.toFixed(3)} s`;
  };
  // One thing at a time: a frame that is asked for waits for the one before.
  const then = (what) => {
    busy = busy.then(what).then(() => fail("")).catch((error) => {
      fail(error instanceof Trouble ? error.message : "This frame cannot be shown.");
    });
    return busy;
  };
  const choose = (file) => then(async () => {
    get("what").textContent = "Being opened.";
    try {
      const found = await open(file, get("film-box"));
      reel?.close?.();
      reel = found;
    } finally {
      get("what").textContent = "It stays in this browser: nothing is sent or stored but the points.";
    }
    turned = 0;
    get("frame").hidden = false;
    reelBox.hidden = Boolean(reel.still);
    stage.resized();
    const { width, height } = reel.frame;
    // The same picture again brings its points back; another one begins anew, and Undo brings them back.
    if ((state.wide && (state.wide !== width || state.high !== height)) || (closed && Object.keys(state.at).length)) fresh();
    [state.wide, state.high] = [width, height];
    closed = false;
    await look(false);
    changed();
  });
  const fresh = () => {
    remember();
    const { marks, pole, rod, camera, nearer, runs } = state;
    state = { ...empty(), marks, pole, rod, camera, nearer, runs, wide: state.wide, high: state.high };
    [held, over, closed] = ["", [], false];
  };
  const frames = (count) => then(async () => {
    if (!reel || reel.still) return;
    for (let i = 0; i < Math.abs(count); i += 1) await (count > 0 ? reel.next() : reel.back());
    await look(true);
  });
  const end = (name) => then(async () => {
    const at = reel.now;
    const gap = await reel.since();
    remember();
    state.events = [...state.events.filter((e) => Math.abs(e.at - at) > 1e-6), { end: name, at, gap }].sort((a, b) => a.at - b.at);
    slow();
    changed();
  });
  const slow = () => {
    const filmed = Number(state.filmed);
    if (reel && !reel.still && filmed > 1) state.slower = (filmed * reel.usual).toFixed(4);
    else if (filmed === 1 || !filmed) state.slower = filmed ? "1" : "";
  };

  get("file").addEventListener("change", ({ target }) => {
    if (target.files.length) choose(target.files[0]);
    target.value = "";
  });
  get("back").addEventListener("click", () => frames(-1));
  get("on").addEventListener("click", () => frames(1));
  when.addEventListener("keydown", (event) => {
    const by = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 }[event.key];
    if (!by) return;
    event.preventDefault();
    frames(by * (event.shiftKey ? 10 : 1));
  });
  let wanted = null;
  when.addEventListener("input", () => {
    const idle = wanted === null;
    wanted = Number(when.value);
    if (!idle) return;
    then(async () => {
      const time = wanted;
      wanted = null;
      await reel.to(time);
      await look(true);
    });
  });
  let swipe = null;
  const strip = get("swipe");
  strip.addEventListener("pointerdown", (event) => {
    strip.setPointerCapture(event.pointerId);
    swipe = event.clientX;
  });
  strip.addEventListener("pointermove", (event) => {
    if (swipe === null) return;
    const steps = Math.trunc((event.clientX - swipe) / STEP);
    if (steps) {
      swipe += steps * STEP;
      frames(steps);
    }
  });
  for (const name of ["pointerup", "pointercancel"]) strip.addEventListener(name, () => { swipe = null; });
  get("down").addEventListener("click", () => end("down"));
  get("off").addEventListener("click", () => end("off"));

  // --- what is tapped and typed beside it
  get("points").addEventListener("click", ({ target }) => {
    const name = target.closest("button")?.dataset.name;
    if (!name) return;
    held = state.at[name] ? name : "";
    state.pick = state.pick === name ? "" : name;
    shown();
  });
  get("events").addEventListener("click", ({ target }) => {
    const index = target.closest("button")?.dataset.event;
    if (index === undefined) return;
    remember();
    state.events.splice(Number(index), 1);
    changed();
  });
  get("undo").addEventListener("click", () => {
    if (!past.length) return;
    const { wide, high } = state;
    state = { ...JSON.parse(past.pop()), wide, high };
    held = "";
    fields();
    changed();
  });
  get("unseen").addEventListener("click", () => {
    const name = next(state);
    if (!name) return;
    remember();
    state.unseen.push(name);
    held = "";
    changed();
  });
  get("clear").addEventListener("click", () => {
    fresh();
    changed();
  });
  get("closer").addEventListener("click", () => stage.zoom(1.6));
  get("wider").addEventListener("click", () => stage.zoom(1 / 1.6));
  get("whole").addEventListener("click", () => stage.whole());
  get("turn").addEventListener("click", () => then(async () => {
    if (!reel) return;
    fresh();
    turned = (turned + 1) % 4;
    await look(false);
    changed();
  }));
  aim.addEventListener("change", () => stage.draw());
  for (const name of TYPED) {
    get(name).addEventListener("change", ({ target }) => {
      remember();
      state[name] = target.value;
      changed();
    });
  }
  get("own")?.addEventListener("click", ({ target }) => {
    remember();
    state.marks = target.closest("button").dataset.marks.trim();
    fields();
    changed();
  });
  for (const radio of document.querySelectorAll("[name=runs]")) {
    radio.addEventListener("change", () => {
      remember();
      state.runs = radio.value;
      changed();
    });
  }
  get("filmed").addEventListener("change", ({ target }) => {
    remember();
    state.filmed = target.value;
    slow();
    changed();
  });
  get("day").addEventListener("change", () => ask());
  get("about").addEventListener("change", ({ currentTarget }) => currentTarget.requestSubmit());

  // --- kept, printed
  get("keep").addEventListener("submit", async (event) => {
    event.preventDefault();
    const button = get("keep-it");
    button.disabled = true;
    try {
      const body = new URLSearchParams({ ...sent(), ...Object.fromEntries(new FormData(event.target)) });
      const got = await (await fetch("/picture/keep", { method: "POST", body })).json();
      get("kept-told").textContent = got.state === "ok" ? got.told : `Not kept: ${[got.why].flat().join("; ")}.`;
      if (got.state === "ok") get("kept").innerHTML = got.html;
    } catch {
      get("kept-told").textContent = "Not kept: the desk does not answer. Your points stay here.";
    } finally {
      button.disabled = false;
    }
  });
  measured.addEventListener("click", ({ target }) => {
    if (target.id === "print") print();
  });
  addEventListener("beforeprint", () => {
    const points = Object.entries(state.at).filter(([name]) => BODY.includes(name)).map(([, at]) => at);
    if (!stage.image || !points.length) return;
    const [xs, ys] = [0, 1].map((i) => points.map((at) => at[i]));
    const [left, right, top, low] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
    stage.near((left + right) / 2, (top + low) / 2, 1.35 * Math.max(right - left, low - top));
  });

  try {
    state = { ...state, ...JSON.parse(sessionStorage.getItem(key) ?? "{}") };
  } catch {
    sessionStorage.removeItem(key);
  }
  fields();
  changed();
}
