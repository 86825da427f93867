// A small file is read here and shown in the box before anything is sent.
const box = document.getElementById("text");
document.getElementById("file").addEventListener("change", async (event) => {
  const [file] = event.target.files;
  if (!file) return;
  if (file.size > 60000) {
    box.value = "";
    box.placeholder = `${file.name} is too large to be a phone's runs`;
    return;
  }
  box.value = await file.text();
  box.focus();
});
