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

// A form, or a piece of one, that is read again while it is filled: data-reread="input" as one types,
// "change" once a box is left. Its page is asked for with what is typed, in the form's own way or in
// data-method's, and parts of it (data-part) are put in place. Without script its button does that.
const TYPING_MS = 150;
const typedAt = new WeakMap(); // when each box was last typed in

document.addEventListener("input", (event) => {
  typedAt.set(event.target, performance.now());
  const form = event.target.closest("[data-reread=input]");
  if (form) readAgain(form, TYPING_MS);
});

document.addEventListener("change", (event) => {
  const form = event.target.closest("[data-reread]");
  if (form) readAgain(form, 0);
});

async function readAgain(piece, wait) {
  const form = piece.closest("form");
  const method = piece.dataset.method ?? form.getAttribute("method");
  const data = new FormData(form);
  for (const name of new Set(data.keys())) {
    const elsewhere = !piece.querySelector(`[name="${CSS.escape(name)}"]`);
    if (elsewhere || (method === "get" && name === "key")) data.delete(name);
  }
  const typed = new URLSearchParams(data).toString();
  if (piece.asked === typed) return; // answered, or about to be
  piece.asked = typed;
  piece.reading?.abort(); // only the last answer counts
  const { signal } = (piece.reading = new AbortController());
  await new Promise((go) => setTimeout(go, wait));
  if (signal.aborted) return;

  const action = form.getAttribute("action");
  const address = method === "get" ? `${action}?${typed}` : action;
  const sent = { method, signal, headers: { "X-Requested-With": "fetch" }, body: method === "get" ? null : data };
  const asked = performance.now();
  busy(true);
  let page;
  try {
    const text = await (await fetch(address, sent)).text();
    page = new DOMParser().parseFromString(text, "text/html");
  } catch {}
  if (signal.aborted) return;
  busy(false);
  const read = Boolean(page?.querySelector("[data-reread]")); // not a page that tells of a fault
  document.querySelector("[data-unread]").hidden = read;
  if (!read) {
    piece.asked = undefined;
  } else {
    putInPlace(page, asked);
    if (form.getAttribute("method") === "get") history.replaceState(null, "", address);
  }
}

function busy(on) {
  for (const part of document.querySelectorAll("[data-part]")) part.setAttribute("aria-busy", on);
}

// Boxes are left alone, but for those of a part that names what they depend on (data-part="row"):
// it is put in place when that has changed. What was typed since `asked` stays.
function putInPlace(page, asked) {
  for (const part of page.querySelectorAll("[data-part]")) {
    const old = document.getElementById(part.id);
    if (!old || (part.dataset.part && part.dataset.part === old.dataset.part)) continue;
    old.dataset.part = part.dataset.part;
    const { id, selectionStart, selectionEnd } = document.activeElement;
    const focused = id && old.contains(document.activeElement);
    for (const box of old.querySelectorAll("input, select, textarea")) {
      if (typedAt.get(box) > asked) part.querySelector(`#${box.id}`)?.replaceWith(box);
    }
    old.replaceChildren(...part.childNodes);
    if (!focused) continue;
    const box = document.getElementById(id);
    box?.focus({ preventScroll: true });
    if (selectionStart != null) box?.setSelectionRange(selectionStart, selectionEnd);
  }
  // Questions that are new come after the others.
  for (const list of page.querySelectorAll("[data-grows]")) {
    const old = document.getElementById(list.id);
    old.append(...[...list.children].filter((one) => !document.getElementById(one.id)));
  }
  // What is wrong with a box is told beside it.
  const field = ":is(.field, .stepper)";
  for (const box of page.querySelectorAll(`[data-reread] ${field} :is(input, select)[id]`)) {
    const old = document.getElementById(box.id);
    if (!old) continue;
    old.closest(field).querySelectorAll(".error").forEach((one) => one.remove());
    old.closest(field).append(...box.closest(field).querySelectorAll(".error"));
    for (const name of ["aria-invalid", "aria-describedby"]) {
      if (box.hasAttribute(name)) old.setAttribute(name, box.getAttribute(name));
      else old.removeAttribute(name);
    }
  }
}

// A count that can't be sent for want of a signal (a form with data-keep) is kept in this browser and sent
// when there is one, under the key its form had: it is booked once, however often it goes.
const KEPT = "seedbank.kept";
const NO_SIGNAL_MS = 25000, AGAIN_MS = 30000, TRIES = 4;

function kept(change) {
  let list = [];
  try {
    list = JSON.parse(localStorage.getItem(KEPT)) ?? [];
    if (change) localStorage.setItem(KEPT, JSON.stringify((list = change(list))));
  } catch {} // a browser that keeps nothing
  return list;
}

function send({ action, body }, redirect = "follow") {
  const headers = { Accept: "text/html", "Content-Type": "application/x-www-form-urlencoded" };
  return fetch(action, { method: "post", body, headers, redirect, signal: AbortSignal.timeout(NO_SIGNAL_MS) });
}

const isBooked = (answer) => answer.redirected && new URL(answer.url).pathname !== "/enter";

document.addEventListener("submit", async (event) => {
  const form = event.target, pressed = event.submitter;
  if (!("keep" in form.dataset) || pressed?.name === "step") return;
  event.preventDefault();
  if (form.sending) return;
  form.sending = true;
  const count = {
    action: form.getAttribute("action"),
    body: new URLSearchParams(new FormData(form, pressed)).toString(),
    what: form.dataset.keep,
  };
  try {
    await send(count, "manual");
  } catch {
    kept((list) => [...list, count]);
    form.elements.key.value = newKey();
    return tellKept();
  } finally {
    form.sending = false; // a browser may show this very page again, on the way back
  }
  if (pressed?.name) form.append(Object.assign(document.createElement("input"), { type: "hidden", name: pressed.name, value: pressed.value }));
  form.submit(); // the same again under the same key, which books nothing more, for the browser to show the answer
});

// A version 4 UUID (RFC 9562); crypto.randomUUID is there only where the address is secure.
function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 15) | 64;
  bytes[8] = (bytes[8] & 63) | 128;
  const hex = [...bytes].map((one) => one.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

async function sendKept() {
  for (const count of kept().filter((one) => !one.refused)) {
    let done, status;
    try {
      const answer = await send(count);
      done = isBooked(answer);
      status = answer.redirected ? 500 : answer.status; // to the page that asks for a token
    } catch {
      break; // still no signal
    }
    const same = (one) => one.body === count.body;
    const tries = (count.tries ?? 0) + 1; // a 409 may only mean that it is being booked just now
    const refused = status < 500 && (status !== 409 || tries >= TRIES);
    kept((list) => list.flatMap((one) => (!same(one) ? [one] : done ? [] : [{ ...one, tries, refused }])));
  }
  tellKept();
}

function tellKept() {
  const list = kept();
  for (const refused of [false, true]) {
    const place = document.querySelector(refused ? "[data-kept=refused]" : "[data-kept=waiting]");
    const some = list.filter((one) => Boolean(one.refused) === refused);
    if (!place) continue;
    place.hidden = some.length === 0;
    place.querySelector("span").replaceChildren(
      ...some.map((one) => {
        const typed = new URLSearchParams(one.body);
        for (const name of ["key", "then", "finish"]) typed.delete(name);
        const link = Object.assign(document.createElement("a"), { href: `${one.action}?${typed}`, textContent: one.what });
        if (refused) link.addEventListener("click", () => kept((all) => all.filter((other) => other.body !== one.body)));
        return refused ? link : document.createTextNode(`${one.what}. `);
      })
    );
  }
}

addEventListener("online", sendKept);
setInterval(() => kept().length && sendKept(), AGAIN_MS);
if (kept().length) sendKept();
