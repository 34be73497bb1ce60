// The crew's phone. What is tapped is kept in this browser first, then sent, in order, until the server says that it has it. So a dead spot
// loses nothing. Every tap has a name of its own: sending it twice counts once. Pages work without this script.

const KEY = "loomwright-waiting";
const AGAIN = 4000; // milliseconds until the next try
const here = () => location.pathname + location.search;
let memory = null; // only where the browser keeps nothing
const kept = () => { if (memory) return memory; try { return JSON.parse(localStorage.getItem(KEY) || "[]"); } catch { return []; } };
const keep = (list) => { try { localStorage.setItem(KEY, JSON.stringify(list)); memory = null; } catch { memory = list; } };
const change = (id, how) => keep(kept().flatMap((item) => (item.id === id ? how(item) : [item])));
const log = () => document.getElementById("state")?.dataset.log ?? "";
// Not randomUUID: it is missing on plain http, which is what a show's own network has.
const fresh = () => [...crypto.getRandomValues(new Uint8Array(12))].map((octet) => octet.toString(16).padStart(2, "0")).join("");
const moment = () => `${new Date().toISOString().slice(0, 19)}Z`;

// --- Taking in ---

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.matches("form[data-tick]")) return;
  event.preventDefault();
  const fields = [...new FormData(form, event.submitter)].filter(([name]) => name !== "back");
  const item = { id: fresh(), log: log(), action: form.getAttribute("action"), fields, made: moment(), tries: 0, held: "" };
  keep([...kept(), item]);
  if (form.hasAttribute("data-note")) form.querySelector("textarea").value = "";
  draw();
  send();
});

// --- Sending ---

let isSending = false, timer = 0, trouble = "";
async function send() {
  clearTimeout(timer);
  if (isSending) return;
  isSending = true;
  trouble = "";
  for (let item; (item = kept().find((one) => !one.held));) {
    if (item.log && log() && item.log !== log()) { change(item.id, (one) => ({ ...one, held: "It was tapped for another plan than the one open here." })); continue; }
    const body = new URLSearchParams(item.fields);
    body.set("id", item.id);
    body.set("back", here());
    if (item.tries) body.set("made", item.made);
    change(item.id, (one) => ({ ...one, tries: one.tries + 1 }));
    let answer, text;
    try {
      answer = await fetch(item.action, { method: "POST", body, headers: { "x-fragment": "1" }, signal: AbortSignal.timeout?.(20000) });
      text = await answer.text();
    } catch {
      trouble = "No connection.";
      break;
    }
    if (answer.ok) {
      change(item.id, () => []);
      document.dispatchEvent(new CustomEvent("show-html", { detail: text }));
    } else if (answer.status >= 500 || [401, 403, 421, 429].includes(answer.status)) {
      trouble = text.trim();
      break;
    } else {
      change(item.id, (one) => ({ ...one, held: text.trim() }));
    }
  }
  isSending = false;
  if (trouble) keep(kept().map((one) => ({ ...one, tries: Math.max(2, one.tries) })));
  draw();
  if (kept().some((one) => !one.held)) timer = setTimeout(send, AGAIN);
}
window.addEventListener("online", send);
document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });
document.addEventListener("line-open", send);

// --- Showing what waits ---

const value = (item, name) => item.fields.find(([key]) => key === name)?.[1];
function words(item) {
  const cable = value(item, "cable"), port = value(item, "port"), is = value(item, "is") === "true";
  if (item.action.endsWith("/note")) return `Note on ${cable}: “${value(item, "text")}”`;
  return port ? `${cable} ${is ? "plugged into" : "not plugged into"} ${port}` : `${cable} ${is ? "tested, good" : "not good"}`;
}

function mark(item) {
  for (const form of document.querySelectorAll("form[data-tick]:not([data-note])")) {
    const of = (name) => form.elements.namedItem(name)?.value;
    if (of("cable") !== value(item, "cable") || of("port") !== value(item, "port")) continue;
    const button = form.querySelector("button.tick");
    form.closest(".end")?.classList.add("waiting");
    button?.setAttribute("aria-pressed", value(item, "is"));
    if (button) button.value = String(value(item, "is") !== "true"); // a second tap takes it back
    const by = form.querySelector(".by");
    if (by) by.textContent = "waits on this phone for the connection";
  }
}

function draw() {
  const list = kept(), waiting = list.filter((one) => !one.held), held = list.filter((one) => one.held);
  for (const item of waiting) if (item.tries !== 1 || trouble) mark(item);
  let box = document.getElementById("waiting");
  if (!list.length || (!trouble && !held.length)) { box?.remove(); return; }
  if (!box) {
    box = document.createElement("aside");
    box.id = "waiting";
    box.setAttribute("role", "status");
    document.querySelector("main").before(box);
  }
  const node = (tag, text, ...children) => { const made = document.createElement(tag); made.textContent = text; made.append(...children); return made; };
  const button = (text, run) => { const made = node("button", text); made.type = "button"; made.className = "second"; made.onclick = run; return made; };
  const all = [];
  if (waiting.length && trouble) {
    all.push(node("p", `${waiting.length} ${waiting.length === 1 ? "tap waits" : "taps wait"} on this phone. ${trouble} Nothing is lost: leave this page open, it is sent as soon as it can be.`));
    all.push(button("Try now", send));
  }
  for (const item of held) {
    const again = button("Try again", () => { change(item.id, (one) => ({ ...one, held: "", log: log() })); send(); });
    const forget = button("Forget it", () => { if (confirm(`Forget this? ${words(item)}`)) { change(item.id, () => []); draw(); } });
    all.push(node("div", "", node("p", `Not taken: ${words(item)} (tapped ${new Date(item.made).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" })}). ${item.held}`), again, forget));
  }
  box.replaceChildren(...all);
}

// --- Times of the phone's own zone, the name of this browser, print ---

function dress() {
  const short = { hour: "2-digit", minute: "2-digit" };
  for (const time of document.querySelectorAll("time[data-clock], time[data-day]")) {
    const at = new Date(time.dateTime);
    if (isNaN(at)) continue;
    const old = Date.now() - at > 20 * 3600 * 1000;
    const text = "day" in time.dataset || old ? at.toLocaleString([], { dateStyle: "medium", timeStyle: "short" }) : at.toLocaleTimeString([], short);
    if (time.textContent !== text) time.textContent = text;
  }
  const name = decodeURIComponent(document.cookie.match(/(?:^|; )crew-name=([^;]*)/)?.[1] ?? "");
  for (const field of document.querySelectorAll("#crew-name, #signer")) if (!field.value && name) field.value = field.defaultValue = name;
  draw();
}
document.addEventListener("swapped", dress);
document.addEventListener("click", (event) => { if (event.target.closest?.("[data-print]")) window.print(); });

// --- Opening again in a dead spot ---

// Where the browser takes the address for secure. Over plain http, which is what a show's own network has, it does not: then the page stays open.
const WITH = "This page opens again without connection. Taps are kept and sent later.";
const WITHOUT = "Dead spot? Keep this page open: over plain http a phone cannot open it again without connection. Taps are kept and sent later.";
const version = new URL(import.meta.url).search;
const isCrew = /^\/(linecheck|c)(\/|$)/.test(location.pathname);
let opensAgain = false;
function promise() {
  const note = document.getElementById("dead-spot");
  const text = opensAgain ? WITH : WITHOUT;
  if (note && note.textContent !== text) note.textContent = text;
}
async function prepare() {
  const worker = navigator.serviceWorker;
  if (!worker || !isCrew || !window.isSecureContext) return;
  try {
    const script = `/assets/dead-spot.js${version}`;
    for (const scope of ["/linecheck", "/c/"]) await worker.register(script, { scope });
    await worker.ready;
    const cache = await caches.open(`crew${version}`);
    const assets = [...document.querySelectorAll('link[rel="stylesheet"], link[rel="icon"], script[src]')].map((node) => node.href || node.src);
    await cache.addAll([location.href.split("#")[0], ...assets]);
    opensAgain = true;
    promise();
  } catch { /* The browser keeps nothing: the page says so. */ }
}
document.addEventListener("line-open", () => document.getElementById("kept")?.remove());
document.addEventListener("swapped", promise);

dress();
promise();
send();
prepare();
