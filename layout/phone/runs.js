// Runs as they are jumped: kept on this phone at once, sent home as lines that name nobody.
(() => {
const get = (id) => document.getElementById(id);
const room = get("runs");
const told = JSON.parse(room.dataset.runs);
const place = "runs-" + (told.key || document.body.dataset.key);
const pads = [...room.querySelectorAll(".pads input")];
const chosen = (name) => room.querySelector(`[name=${name}]:checked`).value;

// What is kept: the phone's own letters, every run, and the one that is being typed.
const letters = "abcdefghijklmnopqrstuvwxyz234567";
const fresh = () => ({
  phone: [...crypto.getRandomValues(new Uint8Array(6))].map((n) => letters[n & 31]).join(""),
  runs: [],
  home: "",
});
const choices = ["from", "unit", "went", "sound"];
let state = null;
let keeps = true;
const look = () => {
  try {
    const found = localStorage.getItem(place);
    if (found && keeps) state = JSON.parse(found);
  } catch {
    keeps = false;
  }
  state = state || fresh();
};
const keep = () => {
  try {
    const text = JSON.stringify(state);
    localStorage.setItem(place, text);
    keeps = localStorage.getItem(place) === text;
  } catch {
    keeps = false;
  }
};
const draft = () => {
  try {
    const said = { pads: pads.map((p) => p.value) };
    for (const name of choices) said[name] = chosen(name);
    localStorage.setItem(place + "-draft", JSON.stringify(said));
  } catch {
    // the run is told as not kept when it is put down
  }
};
const undraft = () => {
  try {
    const said = JSON.parse(localStorage.getItem(place + "-draft"));
    if (!said) return;
    pads.forEach((pad, i) => { pad.value = said.pads[i] || ""; });
    for (const name of choices) {
      const box = [...room.querySelectorAll(`[name=${name}]`)].find((b) => b.value === said[name]);
      if (box) box.checked = true;
    }
  } catch {
    // nothing kept, or not by this page
  }
};

// The line: letters of one kind, and what tells damage.
const crc = (text) => {
  let sum = -1;
  for (const byte of new TextEncoder().encode(text)) {
    sum ^= byte;
    for (let i = 0; i < 8; i += 1) sum = (sum >>> 1) ^ (sum & 1 ? 0xedb88320 : 0);
  }
  return ((sum ^ -1) >>> 0).toString(16).padStart(8, "0");
};
const groups = () => {
  const out = new Map();
  for (const run of state.runs) {
    const name = `${run.day} ${run.zero}`;
    out.set(name, [...(out.get(name) || []), run]);
  }
  return [...out];
};
const text = () => {
  if (!told.key) {
    const going = state.runs.filter((run) => !run.struck);
    return going.map((run) => `${told.name} ${run.words.join(" ")} ${run.zero} ${run.day}`).join("\n");
  }
  return groups().map(([name, runs]) => {
    const said = runs.map((run) => [...run.words, ...(run.struck ? ["struck"] : [])].join(" "));
    const body = `pm1 ${told.key}-${state.phone} ${name} ${said.join("|")}`;
    return `${body} *${crc(body)}`;
  }).join("\n");
};

// Readings, as typed or by the keys.
const quarters = { "¼": 0.25, "½": 0.5, "¾": 0.75 };
const metric = /^[+-]?(\d{1,4})(?:[.,](\d{1,3}))?$/;
const feet = /^(\d{1,2})(?:-|'|ft) ?(\d{1,2}(?:[.,]\d{1,3})?)? ?([¼½¾]|[1-7]\/[248])?(?:"|''|in)?$/;
const reading = (typed) => {
  const plain = typed.trim().toLowerCase().replace(/[\u2010-\u2015\u2212]/g, "-")
    .replace(/[\u2032\u2018\u2019]/g, "'").replace(/[\u2033\u201c\u201d]/g, '"');
  if (!plain || plain === "x" || plain === "?") return { word: "x" };
  const m = plain.match(metric);
  if (m) {
    const value = Number(plain.replace(",", "."));
    const metres = !m[2] && Math.abs(value) >= 100 ? value / 100 : value;
    return { word: plain.replace(",", "."), metres, feet: false };
  }
  const f = plain.match(feet);
  if (!f) return { wrong: true };
  const [over, under] = (f[3] || "0/1").split("/").map(Number);
  const part = f[3] ? quarters[f[3]] || over / under : 0;
  const inches = Math.round(1000 * (Number((f[2] || "0").replace(",", ".")) + part)) / 1000;
  if (!(inches < 12)) return { wrong: true };
  return { word: `${Number(f[1])}-${inches}`, metres: Number(f[1]) * 0.3048 + inches * 0.0254, feet: true };
};
const label = (pad) => pad.labels[0].querySelector("span").firstChild.textContent.trim();
const read = () => {
  const found = pads.map((pad) => reading(pad.value));
  const bad = found.findIndex((r) => r.wrong);
  if (bad >= 0) return { at: bad, why: `${label(pads[bad])}: a length such as 2.61, 261 or 8-7 needed` };
  const [low, high] = chosen("from") === "each" ? told.each : [-told.far, told.far];
  const off = found.findIndex((r) => r.metres !== undefined && (r.metres < low || r.metres > high));
  if (off >= 0) {
    const rule = chosen("from") === "each" ? `${low} to ${high} m` : `at most ${high} m`;
    return { at: off, why: `${label(pads[off])}: must be ${rule}; is the point where it belongs?` };
  }
  const measured = found.filter((r) => r.metres !== undefined);
  if (measured.some((r) => r.feet) && measured.some((r) => !r.feet)) {
    return { at: 0, why: "in metres or in feet and inches, not both in one run" };
  }
  return { words: measured.length ? found.map((r) => r.word) : [] };
};

// What is seen.
const wrong = get("wrong");
const out = get("out");
const shown = (run) => {
  const said = run.words.filter((w) => told.words.includes(w))
    .map((w) => (w === "quiet" || w === "loud" ? `${w} landing` : w));
  const lengths = run.words.filter((w) => !told.words.includes(w)).map((w) => (w === "x" ? "–" : w)).join(" / ");
  return [lengths === "–" ? "not measured" : lengths, ...said].filter(Boolean).join(", ");
};
const show = () => {
  const runs = state.runs;
  get("which").textContent = `Run ${runs.length + 1}`;
  get("put").textContent = `Put down run ${runs.length + 1}`;
  get("kept").replaceChildren(...runs.map((run, i) => {
    const row = document.createElement("li");
    const said = document.createElement("span");
    const number = document.createElement("b");
    const what = document.createElement(run.struck ? "s" : "span");
    number.textContent = `${i + 1}  `;
    what.textContent = shown(run);
    said.append(number, what);
    row.append(said);
    if (run.struck) {
      said.append(" struck out");
    } else {
      const strike = document.createElement("button");
      strike.type = "button";
      strike.textContent = "Strike out";
      strike.setAttribute("aria-label", `Strike out run ${i + 1}`);
      strike.dataset.strike = String(i);
      row.append(strike);
    }
    return row;
  }).reverse());
  get("hurt").hidden = !runs.some((run) => !run.struck && run.words.includes("pain"));
  get("away").hidden = !runs.length;
  out.value = text();
  tell();
};
const plan = () => {
  const boxes = (name) => [...room.querySelectorAll(`[name=${name}]`)];
  const at = 2 * boxes("from").findIndex((b) => b.checked) + (chosen("unit") === "ft");
  for (const pad of pads) pad.labels[0].querySelector("small").textContent = pad.dataset.planned.split("|")[at];
  const said = ["from", "unit"].map((name) => boxes(name).find((b) => b.checked).nextSibling.textContent);
  get("how").textContent = `Read ${said.join(", in ")}`;
  for (const key of room.querySelectorAll(".feet")) key.hidden = chosen("unit") !== "ft";
};

// Home by itself, where the page came from the desk: all of it each time, so that nothing hangs on one answer.
let ended = "";
let trouble = "";
let under = false;
let asked = 0;
const tell = () => {
  const count = `${state.runs.length} run${state.runs.length === 1 ? "" : "s"}`;
  const kept = keeps ? "kept on this phone" : "on this page only: this browser keeps nothing, send it before you close";
  let line = state.runs.length ? `${count} ${kept}.` : "";
  if (told.home && ended) line += ` ${ended} Send the text below instead.`;
  else if (told.home && state.runs.length && state.home === text()) line = `${count} on the desk.`;
  else if (told.home && trouble) line += ` The desk says: ${trouble}`;
  else if (told.home && state.runs.length) line += " Not on the desk yet: it goes by itself, leave this page open.";
  if (get("home").textContent !== line) get("home").textContent = line;
};
const send = async () => {
  const body = text();
  if (!told.home || ended || under) return;
  const nothing = !body || state.home === body;
  if (nothing && Date.now() < asked + 15000 && Date.now() >= asked) return;
  asked = Date.now();
  under = true;
  const stop = new AbortController();
  const late = setTimeout(() => stop.abort(), 8000);
  const how = nothing
    ? { method: "HEAD" }
    : { method: "POST", body, headers: { "content-type": "text/plain" } };
  try {
    const answer = await fetch(location.pathname, { ...how, cache: "no-store", signal: stop.signal });
    const said = answer.ok && !nothing ? await answer.json() : null;
    trouble = "";
    if (said) {
      look();
      state.home = body;
      keep();
    } else if (answer.status === 403 || answer.status === 404 || answer.status === 410) {
      ended = "The coach has ended this page, or its time has run out.";
    } else if (answer.status === 400 || answer.status === 413) {
      trouble = (await answer.text()).trim();
    }
  } catch {
    // no network, or no desk: tried again
  }
  clearTimeout(late);
  under = false;
  tell();
};

// What is done.
const change = (how) => {
  look(); // another tab of this page may have put a run down
  how();
  keep();
  show();
  send();
};
const today = () => {
  const now = new Date();
  const two = (n) => String(n).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
};
const put = () => {
  const found = read();
  const said = [chosen("went"), chosen("sound")].filter((w) => told.words.includes(w));
  const zero = chosen("from");
  if (!found.why && state.runs.filter((r) => r.day === today() && r.zero === zero).length >= told.most) {
    found.why = `${told.most} runs a day are the most this page takes`;
  }
  if (!found.why && !said.length && pads.every((pad) => !pad.value.trim())) {
    found.why = "what was read is needed, x where it was not, or how the run went";
  }
  wrong.textContent = found.why || "";
  if (found.why) {
    pads[found.at || 0].focus();
    return;
  }
  const words = [...found.words, ...said];
  change(() => state.runs.push({ day: today(), zero, words: words.length ? words : ["x"], struck: false }));
  for (const pad of pads) pad.value = "";
  room.querySelector("[name=went]").checked = true;
  room.querySelector("[name=sound]").checked = true;
  draft();
  pads[0].focus({ preventScroll: true });
};
get("put").addEventListener("click", put);
get("kept").addEventListener("click", (event) => {
  const at = event.target.dataset.strike;
  if (at === undefined || !confirm(`Strike out run ${Number(at) + 1}?`)) return;
  change(() => { if (state.runs[at]) state.runs[at].struck = true; });
});

// The keys write where the last landing was touched.
let here = pads[0];
for (const pad of pads) {
  pad.addEventListener("focus", () => { here = pad; });
  pad.addEventListener("input", draft);
  pad.addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    event.preventDefault();
    const next = pads[pads.indexOf(pad) + 1];
    if (next) next.focus();
    else get("put").focus();
  });
}
const press = (key) => {
  if (key === ">") {
    pads[(pads.indexOf(here) + 1) % pads.length].focus();
  } else {
    if (key === "<") here.value = [...here.value].slice(0, -1).join("");
    else if (key === "x") here.value = "x";
    else here.value = ((here.value === "x" ? "" : here.value) + (key === "ft" ? "-" : key)).slice(0, here.maxLength);
    here.focus({ preventScroll: true });
  }
  draft();
};
for (const key of room.querySelectorAll(".keys button")) {
  key.addEventListener("pointerdown", (event) => event.preventDefault());
  key.addEventListener("click", () => press(key.dataset.key));
}
room.addEventListener("change", () => {
  plan();
  draft();
});

// Home by hand: what this browser allows is offered, what it does not is said.
if (navigator.share) get("share").hidden = false;
else get("cannot").textContent = "This browser has no share button: copy the text into a message, or save it as a file.";
get("share").addEventListener("click", () => navigator.share({ text: text() }).catch(() => {}));
const copied = (done) => {
  get("copy").textContent = done ? "Copied" : "Copy the text";
  get("cannot").textContent = done ? "" : "This browser does not copy: the text is marked below, copy it by hand.";
};
get("copy").addEventListener("click", async () => {
  out.focus();
  out.select();
  try {
    if (navigator.clipboard) await navigator.clipboard.writeText(out.value);
    copied(navigator.clipboard ? true : document.execCommand("copy"));
  } catch {
    copied(false);
  }
  setTimeout(() => { get("copy").textContent = "Copy the text"; }, 3000);
});
get("save").addEventListener("click", () => {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text() + "\n"], { type: "text/plain" }));
  link.download = `runs-${today()}.txt`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10000);
});

look();
undraft();
keep();
plan();
show();
send();
addEventListener("storage", (event) => {
  if (event.key === place) {
    look();
    show();
  }
});
if (told.home) {
  setInterval(send, 3000);
  addEventListener("online", send);
  addEventListener("pageshow", send);
  document.addEventListener("visibilitychange", send);
}
})();
