(() => {
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

// The clip.
const rest = play(document, true);
calm.addEventListener("change", () => calm.matches && rest());
})();
