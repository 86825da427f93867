// What it is worth: the slider shows the body and what it gives; work is looked at until it is done.
const LOOK = 3000; // how often the work is looked at [ms]
const work = document.getElementById("work");
const asked = new URLSearchParams(location.search);
asked.delete("work");

const renewed = async () => {
  const answer = await fetch(`${location.pathname}?${asked}`);
  return new DOMParser().parseFromString(await answer.text(), "text/html");
};

// The page is renewed only where something else is to be done on it: Stop is never taken from under a finger.
const look = async () => {
  try {
    const now = (await renewed()).getElementById("work");
    if (!now || now.dataset.state !== "working") {
      location.replace(`${location.pathname}?${asked}`);
      return;
    }
    work.textContent = now.textContent;
  } catch {
    // The desk does not answer: it is asked again.
  }
  setTimeout(look, LOOK);
};
if (work && work.dataset.state === "working") setTimeout(look, LOOK);

const slider = document.getElementById("at");
let newest = 0;
const show = async () => {
  const mine = ++newest;
  asked.set("at", slider.value);
  const there = await renewed();
  if (mine !== newest) return;
  const [body, told] = [".worth-body svg", "#told"].map((name) => there.querySelector(name));
  if (!body || !told) return;
  document.querySelector(".worth-body svg").replaceWith(body);
  document.getElementById("told").textContent = told.textContent;
  slider.setAttribute("aria-valuetext", told.textContent);
  const rows = document.querySelectorAll(".worth-table tbody tr");
  rows.forEach((row, i) => row.classList.toggle("worth-here", i === Number(slider.value)));
};
if (slider) slider.addEventListener("input", show);
