// The plus and minus keys, at once and without asking the server. Without script they send the form.
document.addEventListener("click", (event) => {
  const key = event.target.closest("button[data-step]");
  if (!key) return;
  event.preventDefault();
  const box = document.getElementById(key.dataset.for);
  const next = (parseInt(box.value, 10) || 0) + Number(key.dataset.step);
  box.value = Math.min(Number(box.dataset.most), Math.max(Number(box.dataset.least), next));
  box.dispatchEvent(new Event("input", { bubbles: true }));
});
