// What stands beside the picture: the points by name, the chosen frames, and what to tap next.
import { labelOf, next, order } from "/picture_points.js";

const WORDS = { down: "Foot down", off: "Foot off" };
const SIGNS = { put: "✓ ", unseen: "– " };
const made = (name, text, more) => {
  const [item, button] = [document.createElement("li"), document.createElement("button")];
  button.type = "button";
  button.textContent = text;
  Object.assign(button.dataset, more);
  if (name) button.setAttribute("aria-label", name);
  item.append(button);
  return item;
};

export const told = (state, open) => {
  if (!open) {
    const back = Object.keys(state.at).length;
    return back ? "Your points are back. Choose the same picture to see them on it." : "Choose a picture first.";
  }
  const name = next(state);
  if (!name) return "All points are set. To move one, tap its name first.";
  const label = labelOf(name);
  return `${state.pick ? "Move" : "Tap"} ${/^its/.test(label) ? label : `the ${label}`}.`;
};

export const chips = (list, state) => {
  const now = next(state);
  // The button that has the keyboard keeps it.
  const focused = list.contains(document.activeElement) ? document.activeElement.dataset.name : "";
  list.replaceChildren(...order(state).map((name) => {
    const is = state.at[name] ? "put" : state.unseen.includes(name) ? "unseen" : "";
    const item = made("", `${SIGNS[is] ?? ""}${labelOf(name)}`, { name, is: name === now ? "next" : is });
    if (name === now) item.firstChild.setAttribute("aria-current", "step");
    return item;
  }));
  if (focused) [...list.querySelectorAll("button")].find((b) => b.dataset.name === focused)?.focus();
};

export const chosen = (list, state) => {
  list.replaceChildren(...state.events.map(({ end, at }, i) => {
    const text = `${WORDS[end]} ${at.toFixed(3)} s`;
    return made(`${text}: take it out`, `${text} ✕`, { event: i });
  }));
};
