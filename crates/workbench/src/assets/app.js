// Makes the pages live: edits without leaving the page, keyboard in tables, changes from other browsers.
// Every page works without it.

const root = document.documentElement;
const here = () => location.pathname + location.search;
const live = document.getElementById("live");
let quiet = 0;
const say = (text) => {
  live.textContent = text.charAt(0).toUpperCase() + text.slice(1);
  live.classList.add("shown");
  clearTimeout(quiet);
  quiet = setTimeout(() => live.classList.remove("shown"), text.length > 20 ? 9000 : 1500);
};

// --- Replacing what changed, keeping focus, half-typed text and open details ---

const isDirty = (field) => field.matches?.("input, select, textarea") && field === document.activeElement && field.value !== field.defaultValue;

function copyAttributes(from, to) {
  for (const { name } of [...to.attributes]) if (!from.hasAttribute(name) && name !== "open") to.removeAttribute(name);
  for (const { name, value } of from.attributes) if (to.getAttribute(name) !== value) to.setAttribute(name, value);
}

function settle(old, fresh) {
  if (old.isEqualNode(fresh)) return;
  if (old.nodeType !== 1 || fresh.nodeType !== 1 || old.tagName !== fresh.tagName) return old.replaceWith(fresh);
  if (isDirty(old) || old.classList.contains("wrong")) return;
  const isField = old.matches("input, select, textarea");
  if (isField || !(old.contains(document.activeElement) || old.querySelector("details[open]") || old.scrollLeft || old.scrollTop || old.querySelector(".canvas, .sheet, .wrong"))) {
    if (isField) { const held = old === document.activeElement; old.replaceWith(fresh); if (held) fresh.focus(); return; }
    return old.replaceWith(fresh);
  }
  copyAttributes(fresh, old);
  const keyed = new Map([...old.children].filter((node) => node.id).map((node) => [node.id, node]));
  const wanted = [...fresh.childNodes];
  let at = old.firstChild;
  for (const node of wanted) {
    const twin = (node.id && keyed.get(node.id)) || (at && !at.id && at.nodeName === node.nodeName ? at : null);
    if (!twin) { old.insertBefore(node, at); continue; }
    if (twin === at) at = at.nextSibling; else old.insertBefore(twin, at);
    settle(twin, node);
  }
  while (at) { const next = at.nextSibling; if (!isDirty(at) && !at.classList?.contains("refusal")) at.remove(); at = next; }
}

function swap(html) {
  const box = document.createElement("template");
  box.innerHTML = html;
  for (const fresh of [...box.content.children]) {
    const old = fresh.id && document.getElementById(fresh.id);
    if (old) settle(old, fresh);
  }
  tidy();
  document.dispatchEvent(new Event("swapped"));
}
document.addEventListener("show-html", (event) => swap(event.detail));

function tidy() {
  for (const field of document.querySelectorAll("input[data-here]")) field.value = here();
  zoom();
}

// --- Forms that stay on the page ---

function refuse(form, field, text) {
  const cell = field?.closest("td, th") ?? form;
  cell.querySelector(".refusal")?.remove();
  const note = document.createElement("p");
  note.className = "refusal";
  note.setAttribute("role", "alert");
  note.textContent = text;
  cell.append(note);
  field?.classList.add("wrong");
  field?.setAttribute("aria-invalid", "true");
}

async function send(form, data, field, action = form.action) {
  let answer;
  try {
    answer = await fetch(action, { method: "POST", body: data, headers: { "x-fragment": "1" } });
  } catch {
    refuse(form, field, "Not sent: the server does not answer. Your text is still here.");
    return false;
  }
  const text = await answer.text();
  if (answer.ok) {
    field?.classList.remove("wrong");
    field?.removeAttribute("aria-invalid");
    field?.closest("td, th")?.querySelector(".refusal")?.remove();
    if (field) field.defaultValue = field.value;
    swap(text);
    say(decodeURIComponent(answer.headers.get("x-says") ?? "") || "Saved.");
    return true;
  }
  refuse(form, field, text);
  return false;
}

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!form.matches("form[data-live]")) return;
  event.preventDefault();
  const data = new URLSearchParams(new FormData(form, event.submitter));
  if (await send(form, data, null, event.submitter?.hasAttribute("formaction") ? event.submitter.formAction : form.getAttribute("action"))) {
    for (const field of form.elements) if (field.matches?.("[data-clear]")) field.value = "";
    if (form.dataset.then) document.getElementById(form.dataset.then)?.focus();
  }
});

// --- Cells ---

const isCell = (node) => node.matches?.("table.edit tbody :is(input, select)");
const valueOf = (field) => (field.type === "checkbox" ? (field.checked ? "true" : "false") : field.value);

async function post(field) {
  const form = field.form;
  const data = new URLSearchParams({ id: form.elements.id.value, was: form.elements.was.value, back: here(), [field.name]: valueOf(field) });
  const cell = field.closest("td, th");
  if (await send(form, data, field)) {
    const name = cell?.id;
    const seen = name && document.getElementById(name);
    seen?.classList.add("saved");
    setTimeout(() => seen?.classList.remove("saved"), 1300);
  }
}

document.addEventListener("change", (event) => { if (isCell(event.target)) post(event.target); });

function neighbour(field, dx, dy) {
  const cell = field.closest("td, th");
  const row = cell.parentElement;
  if (dy) {
    const rows = [...row.closest("tbody").rows];
    const next = rows[rows.indexOf(row) + dy];
    return next?.cells[cell.cellIndex]?.querySelector("input:not([type=hidden]), select");
  }
  let next = cell;
  do next = dx > 0 ? next.nextElementSibling : next.previousElementSibling; while (next && !next.querySelector("input:not([type=hidden]), select"));
  return next?.querySelector("input:not([type=hidden]), select");
}

function go(to, event) {
  if (!to) return;
  event.preventDefault();
  to.focus();
  if (to.select && to.type !== "checkbox") to.select();
}

document.addEventListener("keydown", (event) => {
  const field = event.target;
  if (event.ctrlKey || event.metaKey) {
    const isText = field.matches?.("textarea, input:not([type=checkbox])") && isDirty(field);
    const key = event.key.toLowerCase();
    if (!isText && (key === "z" || key === "y")) {
      const undo = key === "z" && !event.shiftKey;
      document.querySelector(`form[action="${undo ? "/undo" : "/redo"}"] button:not(:disabled)`)?.click();
      event.preventDefault();
    }
    return;
  }
  if (!isCell(field)) return;
  const isSelect = field.tagName === "SELECT";
  const text = !isSelect && field.type !== "checkbox";
  const start = !text || field.selectionStart === 0, end = !text || field.selectionEnd === field.value.length;
  if (event.key === "Enter") { const to = neighbour(field, 0, event.shiftKey ? -1 : 1); if (to) go(to, event); else { event.preventDefault(); field.blur(); } }
  else if (event.key === "Escape" && text) { field.value = field.defaultValue; field.select(); }
  else if (event.key === "ArrowDown" && (!isSelect || event.altKey === false && text)) go(neighbour(field, 0, 1), event);
  else if (event.key === "ArrowUp" && !isSelect) go(neighbour(field, 0, -1), event);
  else if (event.key === "ArrowLeft" && start) go(neighbour(field, -1, 0), event);
  else if (event.key === "ArrowRight" && end) go(neighbour(field, 1, 0), event);
});

document.addEventListener("focusin", (event) => { if (isCell(event.target) && event.target.matches("input:not([type=checkbox])")) event.target.select(); });

// A block of cells from a spreadsheet: more than one row or column goes to the server as one edit.
document.addEventListener("paste", async (event) => {
  const field = event.target;
  if (!field.matches?.("table.edit input, table.edit select")) return;
  const text = event.clipboardData.getData("text/plain").replace(/\r/g, "").replace(/\n$/, "");
  if (!/[\t\n]/.test(text)) return;
  event.preventDefault();
  const table = field.closest("table");
  const row = field.closest("tr"), cell = field.closest("td, th");
  const data = new URLSearchParams({ block: text, row: row.dataset.id ?? "", column: String(cell.cellIndex), back: here() });
  await send({ action: table.dataset.paste, append: (node) => cell.append(node), querySelector: (s) => cell.querySelector(s) }, data, field);
});

// --- Sliders: say the value while it moves, compute when it rests ---

document.addEventListener("input", (event) => {
  const field = event.target;
  if (!field.dataset?.shows) return;
  const text = `${field.value} ${field.dataset.unit}`;
  document.getElementById(field.dataset.shows).textContent = text;
  field.setAttribute("aria-valuetext", text);
});
document.addEventListener("change", (event) => { if (event.target.dataset?.shows) event.target.form.requestSubmit(); });

// --- The drawing: tap takes an item away ---

// Drawn at its own size, larger or smaller; the width is kept for the tab.
function zoom() {
  const canvas = document.getElementById("canvas"), drawing = canvas?.querySelector("svg.drawing");
  if (!drawing) return;
  const own = drawing.viewBox.baseVal.width, kept = Number(sessionStorage.getItem("zoom") || 0);
  const fit = Math.min(1.25, (canvas.clientWidth - 2) / own);
  const scale = kept || Math.max(fit, Math.min(0.62, 1.25));
  drawing.setAttribute("width", Math.round(own * scale));
  return { scale, fit };
}
document.addEventListener("click", (event) => {
  const button = event.target.closest?.("[data-zoom]");
  if (!button) return;
  const { scale, fit } = zoom() ?? { scale: 1, fit: 1 };
  const next = { in: scale * 1.25, out: scale / 1.25, fit }[button.dataset.zoom];
  sessionStorage.setItem("zoom", String(Math.min(4, Math.max(0.1, next))));
  zoom();
});
window.addEventListener("resize", zoom);
document.addEventListener("click", (event) => {
  const item = event.target.closest?.(".canvas [data-item]");
  if (!item || event.target.closest("a")) return;
  const at = new URL(location.href);
  const gone = (at.searchParams.get("without") || "").split(",").filter(Boolean);
  const name = item.dataset.item;
  const next = gone.includes(name) ? gone.filter((other) => other !== name) : [...gone, name];
  if (next.length) at.searchParams.set("without", next.join(",")); else at.searchParams.delete("without");
  at.search = at.search.replaceAll("%3A", ":").replaceAll("%2C", ",").replaceAll("%2F", "/");
  show(at.pathname + at.search, true);
});

async function show(address, push) {
  const answer = await fetch(address, { headers: { "x-fragment": "1" } }).catch(() => null);
  if (!answer?.ok) { location.href = address; return; }
  if (push) history.pushState(null, "", address);
  swap(await answer.text());
  listen();
}
window.addEventListener("popstate", () => show(here(), false));

document.addEventListener("keydown", (event) => {
  const item = event.target.closest?.(".canvas [data-item]");
  if (item && (event.key === "Enter" || event.key === " ")) { event.preventDefault(); item.dispatchEvent(new MouseEvent("click", { bubbles: true })); }
});

// --- The worst moment: a line runs through it once, when asked to. Who wants no motion steps from moment to moment ---

const RUN = 12000; // milliseconds for the whole picture
function stand(figure, at) {
  const { from, to, left, width } = figure.dataset, svg = figure.querySelector("svg");
  const x = Number(width) * (at - from) / Math.max(1, to - from);
  svg.classList.add("plays");
  svg.querySelector(".past").setAttribute("width", x);
  for (const end of ["x1", "x2"]) svg.querySelector(".now").setAttribute(end, Number(left) + x);
  const box = svg.parentElement, line = Number(left) + x;
  if (line < box.scrollLeft || line > box.scrollLeft + box.clientWidth - 24) box.scrollLeft = line - box.clientWidth / 3;
  figure.querySelector("output").textContent = `${(at / 1e6).toFixed(2)} \u00b5s`;
  figure.at = at;
}
document.addEventListener("click", (event) => {
  const button = event.target.closest?.("[data-play]"), figure = button?.closest("figure");
  if (!figure) return;
  const from = Number(figure.dataset.from), to = Number(figure.dataset.to);
  const begin = figure.at >= to ? from : figure.at ?? from;
  if (matchMedia("(prefers-reduced-motion: reduce)").matches) {
    const steps = figure.dataset.steps.split(" ").map(Number);
    return stand(figure, figure.at === undefined ? steps[0] : steps.find((step) => step > figure.at) ?? steps[0]);
  }
  figure.runs = !figure.runs;
  button.textContent = figure.runs ? "Pause" : "Play";
  if (!figure.runs) return;
  let start;
  const frame = (now) => {
    if (!figure.runs || !figure.isConnected) return;
    start ??= now;
    stand(figure, Math.min(to, begin + (to - from) * (now - start) / RUN));
    if (figure.at < to) return requestAnimationFrame(frame);
    figure.runs = false;
    button.textContent = "Play";
  };
  requestAnimationFrame(frame);
});

// --- News from the server: one line per tab ---

let line = null;
function listen() {
  line?.close();
  if ("still" in document.body.dataset) return;
  line = new EventSource(`/events?at=${encodeURIComponent(here())}&from=${encodeURIComponent(document.body.dataset.mark)}`);
  line.addEventListener("open", () => document.dispatchEvent(new Event("line-open")));
  line.addEventListener("reload", () => location.reload());
  line.addEventListener("swap", (event) => { JSON.parse(event.data).forEach(swap); document.body.dataset.mark = event.lastEventId; });
}
window.addEventListener("pagehide", () => line?.close());
window.addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });

document.querySelector("body > nav [aria-current]")?.scrollIntoView({ inline: "center", block: "nearest" });
tidy();
listen();
root.dataset.live = "";
