// Who has a page is asked for now and then; what a hand is on is not taken from under it.
const doors = document.getElementById("doors");
let last = doors ? doors.innerHTML : "";
const held = () => doors.contains(document.activeElement) || doors.matches(":active");
const look = async () => {
  if (!doors || document.hidden || held()) return;
  try {
    const told = await (await fetch("/share/state")).json();
    if (told.doors === undefined || told.doors === last || held()) return;
    last = told.doors;
    doors.innerHTML = told.doors;
  } catch {
    // the desk was closed
  }
};
setInterval(look, 3000);
