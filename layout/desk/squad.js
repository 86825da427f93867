// Squad: what is tapped is asked of the desk, the newest only, and shown; long work is looked at.
const form = document.getElementById("roll");
const LOOK = 500; // how often long work is looked at [ms]
const REST = 500; // how long nothing is tapped before hurdles are held against the feet [ms]

if (form) {
  const narrow = matchMedia("(max-width: 63.99rem)");
  const part = (name) => document.querySelector(`[data-part="${name}"]`);
  let address = location.pathname + location.search;
  let at; // the drill tapped last
  let busy = false;
  let more = false;
  let turn = 0; // of what is tapped: an answer to an older tap is dropped
  let looking = 0;
  let resting = 0;
  let holding = false;

  const put = (name, html) => {
    const place = part(name);
    // What somebody is on with a key or a reader is not taken away from under them.
    const held = place.contains(document.activeElement) && document.activeElement;
    const label = held && held.textContent;
    if (place.innerHTML === html) return;
    place.innerHTML = html;
    if (held) [...place.querySelectorAll("a, button")].find((e) => e.textContent === label)?.focus();
  };
  const ask = async (path) => (await fetch(path)).json();
  const lost = () => {
    part("shared").textContent = "The desk does not answer. Is phasemark desk still running?";
  };
  // What was chosen before keeps its place; what is tapped now comes behind it.
  const ticked = (name, before) => {
    const now = [...form.querySelectorAll(`input[name^="${name}-"]:checked`)].map((e) => e.name.slice(name.length + 1));
    const kept = (before.get(name) ?? "").split(",").filter((one) => now.includes(one));
    return [...kept, ...now.filter((one) => !kept.includes(one))].join(",");
  };
  const query = () => {
    const before = new URLSearchParams(address.split("?")[1]);
    const asked = new URLSearchParams();
    for (const name of ["who", "d"]) asked.set(name, ticked(name, before));
    asked.set("at", at ?? before.get("at") ?? "");
    for (const { name, value } of form.querySelectorAll("select")) asked.set(name, value);
    for (const [name, value] of [...asked]) if (!value) asked.delete(name);
    return asked.toString();
  };
  const width = () => (narrow.matches ? "narrow" : "wide");

  const show = (told) => {
    for (const [name, html] of Object.entries(told.parts)) put(name, html);
    for (const [slug, text] of Object.entries(told.open)) {
      const place = form.querySelector(`[data-open="${CSS.escape(slug)}"]`);
      if (place) place.textContent = text;
    }
  };
  // Hurdles are held against the feet when nothing was tapped for a moment: that takes longer.
  const feet = async (mine) => {
    if (holding || document.getElementById("runway")?.dataset.feet !== "no") return;
    holding = true;
    try {
      const told = await ask(`/squad/live?${query()}&w=${width()}&feet=1`);
      if (mine === turn && told.parts) show(told);
    } catch {
      lost();
    } finally {
      holding = false;
      if (mine !== turn) rest();
    }
  };
  const rest = () => {
    clearTimeout(resting);
    resting = setTimeout(() => feet(turn), REST);
  };
  const refresh = async (push) => {
    turn += 1;
    if (busy) {
      more = true;
      return;
    }
    busy = true;
    try {
      do {
        more = false;
        const mine = turn;
        const told = await ask(`/squad/live?${query()}&w=${width()}`);
        if (!told.parts) part("shared").textContent = told.why;
        else if (mine === turn) {
          show(told);
          if (push && told.address !== address) {
            address = told.address;
            history.pushState(null, "", address);
          }
        }
      } while (more);
      rest();
    } catch {
      lost();
    } finally {
      busy = false;
      look();
    }
  };

  const look = () => {
    clearTimeout(looking);
    const state = part("work").querySelector("[data-state]");
    if (!state || state.dataset.state !== "working") return;
    looking = setTimeout(async () => {
      try {
        const { html } = await ask(`/squad/progress?${address.split("?")[1] ?? ""}`);
        if (!part("work").matches(":active")) put("work", html); // a button is not taken from under a finger
        look();
      } catch {
        put("work", "<p>The desk does not answer. Is phasemark desk still running?</p>");
      }
    }, LOOK);
  };

  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("change", (event) => {
    const { name, checked } = event.target;
    if (name.startsWith("d-") && checked) at = name.slice(2);
    if (name === "v") location.assign(`/squad?${query()}`);
    else refresh(true);
  });
  addEventListener("popstate", () => location.reload());
  narrow.addEventListener("change", () => refresh(false));
  rest();
  look();
}
