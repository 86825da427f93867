// Set out: what a finger changes is asked of the desk, the newest value only, and shown.
document.documentElement.classList.remove("plain"); // says that the page's script runs
const get = (id) => document.getElementById(id);
const form = get("wishes");
const REST = 600; // how long nothing changes before the figure is worked out [ms]
const LOOK = 200; // how often the work on it is looked at [ms]

if (form) {
  const narrow = matchMedia("(max-width: 63.99rem)");
  const [state, done, stop, again, figure, runway, stamp] =
    ["state", "done", "stop", "again", "figure", "runway", "stamp"].map(get);
  const strides = get("strides");
  let turn = 0; // of the wishes: an answer to an older one is dropped
  let busy = false;
  let more = false;
  let resting = 0;

  const query = () => {
    const asked = new URLSearchParams(new FormData(form));
    for (const [name, value] of [...asked]) if (!value) asked.delete(name);
    return asked.toString();
  };
  const ask = async (path, body) => {
    const how = body === undefined ? {} : { method: "POST", body: new URLSearchParams(body) };
    return (await fetch(path, how)).json();
  };
  const say = (text, { working = false, wish = false, step = 0, of = 0 } = {}) => {
    if (state.textContent !== text) state.textContent = text;
    // A figure that stays in sight says that it is of what was asked before.
    stamp.hidden = !figure.classList.contains("pale") || !figure.firstElementChild;
    stamp.textContent = working ? "From before; the new one is being worked out" : "From before, not for this spacing";
    done.hidden = stop.hidden = !working;
    again.hidden = !wish;
    if (of) [done.max, done.value] = [Math.max(of, step), step];
    else done.removeAttribute("value");
  };
  const lost = () => say("The desk does not answer. Is phasemark desk still running?");
  const clips = (there) => {
    for (const link of document.querySelectorAll(".clip")) link.hidden = !there;
    document.querySelector(".bare").hidden = there;
  };

  const show = async (mine, asked) => {
    const told = await ask(`/figure?${asked}`);
    if (mine !== turn) return;
    if (told.state !== "solved") return work(mine, asked, told);
    figure.innerHTML = told.html;
    figure.classList.remove("pale");
    say("Worked out for this spacing.");
    clips(true);
    play(figure);
  };
  const work = async (mine, asked, told) => {
    while (mine === turn) {
      if (told.state === "solved") {
        await refresh();
        return;
      }
      if (told.state === "failed") return say(`Not possible: ${told.why}`);
      if (told.state !== "working") return say("Not worked out for this spacing.", { wish: true });
      say("Being worked out for this spacing.", { working: true, step: told.done, of: told.of });
      await new Promise((go) => setTimeout(go, LOOK));
      if (mine === turn) told = await ask(`/figure?${asked}`);
    }
  };
  const solve = async () => {
    const [mine, asked] = [turn, query()];
    try {
      await work(mine, asked, await ask("/solve", asked));
    } catch {
      lost();
    }
  };

  const put = (told) => {
    for (const [name, html] of Object.entries(told.parts)) {
      const place = document.querySelector(`[data-part="${name}"]`);
      if (place.innerHTML !== html) place.innerHTML = html;
    }
    runway.classList.toggle("late", told.figure === "none");
    get("card").classList.toggle("pale", told.figure === "none");
    for (const link of document.querySelectorAll("[data-away]")) {
      const address = told.away[link.dataset.away];
      if (address) link.href = address;
      if (address) link.removeAttribute("aria-disabled");
      else link.setAttribute("aria-disabled", "true");
    }
  };
  const refresh = async () => {
    if (busy) {
      more = true;
      return;
    }
    busy = true;
    try {
      do {
        more = false;
        const [mine, asked] = [turn, query()];
        const told = await ask(`/live?${asked}&w=${narrow.matches ? "narrow" : "wide"}`);
        if (told.parts) put(told);
        else get("faults").textContent = told.why;
        if (mine !== turn) continue;
        clearTimeout(resting);
        figure.classList.toggle("pale", told.figure !== "solved");
        if (told.figure === "solved") show(mine, asked).catch(lost);
        else {
          clips(false);
          if (told.figure === "sketch") {
            say("Not worked out for this spacing yet.", { wish: true });
            resting = setTimeout(solve, REST);
          } else say("Not possible as it is now; see above.");
        }
      } while (more);
    } catch {
      lost();
    } finally {
      busy = false;
    }
  };

  const changed = () => {
    turn += 1;
    clearTimeout(resting);
    if (strides) get("strides-now").textContent = strides.value;
    refresh();
  };
  const settled = () => {
    const address = `/set-out?${query()}`;
    if (address !== location.pathname + location.search) history.pushState(null, "", address);
  };
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("input", changed);
  form.addEventListener("change", (event) => {
    // Another place has other boards and zeros.
    if (event.target.name === "v") location.assign(`/set-out?${query()}`);
    else settled();
  });
  for (const button of form.querySelectorAll("[data-step]")) {
    button.addEventListener("click", () => {
      strides.stepUp(Number(button.dataset.step));
      changed();
      settled();
    });
  }
  addEventListener("popstate", () => location.reload());
  stop.addEventListener("click", async () => {
    turn += 1;
    await ask("/stop", "");
    say("Stopped; not worked out for this spacing.", { wish: true });
  });
  again.addEventListener("click", () => {
    clearTimeout(resting);
    solve();
  });
  narrow.addEventListener("change", changed);

  if (figure.dataset.state === "solved") {
    clips(true);
    play(figure);
  } else if (figure.dataset.state !== "none" && figure.dataset.state !== "failed") {
    resting = setTimeout(solve, REST);
  }
}
