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

// A form that is read again at each change (data-reread). Boxes are never touched, however late an
// answer comes: put in place are parts without boxes (data-part), what is wrong with a box beside
// it, and questions that are new (data-grows).
document.addEventListener("change", async (event) => {
  const form = event.target.closest("form[data-reread]");
  if (!form) return;
  form.reading?.abort(); // only the last answer counts
  const { signal } = (form.reading = new AbortController());
  let page;
  try {
    const answer = await fetch(form.getAttribute("action"), { method: "POST", body: new FormData(form), signal });
    page = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("form[data-reread]");
  } catch {}
  if (signal.aborted) return;
  form.querySelector("[data-unread]").hidden = Boolean(page);
  if (page) putInPlace(form, page);
});

function putInPlace(form, page) {
  for (const part of page.querySelectorAll("[data-part]")) {
    const old = form.querySelector(`#${part.id}`);
    const focused = old.contains(document.activeElement) && document.activeElement.id;
    old.replaceChildren(...part.childNodes);
    if (focused) document.getElementById(focused)?.focus({ preventScroll: true });
  }
  for (const list of page.querySelectorAll("[data-grows]")) {
    const old = form.querySelector(`#${list.id}`);
    old.append(...[...list.children].filter((one) => !form.querySelector(`#${one.id}`)));
  }
  for (const box of page.querySelectorAll(".field :is(input, select):not([type=hidden])")) {
    const old = form.querySelector(`#${box.id}`);
    if (!old) continue;
    old.closest(".field").querySelectorAll(".error").forEach((one) => one.remove());
    old.closest(".field").append(...box.closest(".field").querySelectorAll(".error"));
    for (const name of ["aria-invalid", "aria-describedby"]) {
      if (box.hasAttribute(name)) old.setAttribute(name, box.getAttribute(name));
      else old.removeAttribute(name);
    }
  }
}
