// Take in: chosen files are read here and sent with the form; any encoding arrives as it is.
const form = document.getElementById("take-in");
const files = document.getElementById("files");
const over = document.getElementById("over");

const sent = (bytes) => {
  let text = "";
  for (let at = 0; at < bytes.length; at += 32768) text += String.fromCharCode(...bytes.subarray(at, at + 32768));
  return btoa(text).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
};
const put = (name, value) => {
  const field = document.createElement("input");
  [field.type, field.name, field.value] = ["hidden", name, value];
  field.className = "sent";
  form.append(field);
};
const say = (text) => {
  over.textContent = text;
  over.hidden = !text;
};

form.addEventListener("submit", async (event) => {
  if (!files.files.length) return;
  event.preventDefault();
  form.querySelectorAll(".sent").forEach((field) => field.remove());
  const chosen = [...files.files];
  const size = chosen.reduce((sum, file) => sum + file.size + file.name.length * 3, 0);
  if (size * 1.34 + 20000 > Number(form.dataset.most)) {
    say("These files together are too large for the page: fewer at a time, or phasemark book in.");
    return;
  }
  try {
    for (const [number, file] of chosen.entries()) {
      put(`name${number}`, file.name);
      put(`data${number}`, sent(new Uint8Array(await file.arrayBuffer())));
    }
  } catch {
    say("A file could not be read. Choose it again.");
    return;
  }
  form.submit();
});
