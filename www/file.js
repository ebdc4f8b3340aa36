// A worksheet file on the page. What a text says is decided by the module (reading.wasm); here it
// is put in its place, kept, and handed to the workers, piece by piece.

import init, { Reading } from "./reading.js";
import { both } from "./modules.js";
import { Pool } from "./pool.js";
import { Draft } from "./draft.js";
import { fill } from "./slices.js";

const BASE = new URL(".", import.meta.url);
// Behind a packed text that goes to the page of hand-outs and back: the file's name.
const NAME = ";name=";
// After a keystroke the text is read this much later.
const PAUSE = 200;
// So far beyond the window's edge a problem is worked.
const NEAR = "500px";
// A longer file is not even taken in; the module says so about those between.
const LONGEST = 4_000_000;
// Stands on paper where the browser prints before a problem is worked.
const UNPRINTED = "This problem was not worked yet when the page was printed. The page’s own button Print waits for every problem.";
const BLANK = "# Title\n\n```sheet\ncourse: \n```\n\nWords, and a formula: $y'' = x y$.\n\n```ivp\ny'' = x y\ny(0) = 1, y'(0) = 0\ndegree: 6\n```\n";

// The text stands beside the sheet (file.css).
const BESIDE = matchMedia("(min-width: 64rem)");

const by = (id) => document.getElementById(id);
const [view, text, under] = [by("view"), by("text"), by("under")];
const pool = new Pool(BASE);
const draft = new Draft();
let reading;
let due;
let made = 0;

/**
 * A node for each piece; those whose pieces have not changed stay as they are. Beside the text, what
 * has changed comes into sight.
 */
function show(follows = false) {
  reading?.free();
  reading = new Reading(text.value);
  const old = new Map();
  for (const node of view.children) {
    const same = old.get(node.key);
    if (same) same.push(node);
    else old.set(node.key, [node]);
  }
  const pieces = reading.pieces();
  const problems = [...view.children].filter((node) => node.ask);
  let number = 0;
  const nodes = pieces.map((piece) => {
    const key = piece.join("\u0000");
    let node = old.get(key)?.shift();
    if (piece.length > 1) {
      // A problem that has changed keeps its place, and what it showed until the new answer comes.
      const before = problems[number];
      if (!node && before && !before.taken && !pieces.some((other) => other.join("\u0000") === before.key)) node = before;
      node ??= problem();
      node.taken = true;
      node.number = number++;
      if (node.key !== key) {
        node.changed = true;
        ask(node, piece);
      }
    } else if (!node) {
      node = document.createElement("div");
      node.className = "piece";
      node.innerHTML = piece[0];
    }
    node.key = key;
    return node;
  });
  for (const node of [...view.children]) {
    if (nodes.includes(node)) continue;
    pool.withdraw(node);
    seen.unobserve(node);
    node.remove();
  }
  const fresh = nodes.find((node) => !node.isConnected || node.changed);
  nodes.forEach((node, at) => {
    node.taken = node.changed = false;
    if (view.children[at] !== node) view.insertBefore(node, view.children[at] ?? null);
  });
  if (follows && fresh && BESIDE.matches) {
    const { top, bottom } = fresh.getBoundingClientRect();
    if (bottom < 0 || top > innerHeight) fresh.scrollIntoView({ block: "center" });
  }
  document.title = `${reading.title() || "Worksheet file"}: Ordinary Point`;
  remarks();
  settle();
}

/** An empty place for a problem. */
function problem() {
  const node = document.createElement("div");
  node.className = "worked";
  node.ids = `problem-${++made}-`;
  node.innerHTML = '<div class="above"></div><div class="place"><p class="wait">This problem is worked when it comes into sight.</p></div><p class="own"><a></a></p>';
  node.ask = [];
  return node;
}

/** Gives a problem its question; it is worked once it is near the window. */
function ask(node, [above, inputs, parts, heading, question, address, words]) {
  node.querySelector(".above").innerHTML = above;
  const link = node.querySelector(".own a");
  link.href = address;
  link.textContent = `Open “${heading}” as a worksheet`;
  const place = node.querySelector(".place");
  let asked = place.closest("details");
  if (question && !asked) {
    asked = document.createElement("details");
    asked.className = "asked";
    asked.append(document.createElement("summary"));
    place.replaceWith(asked);
    asked.append(place);
  } else if (!question && asked) {
    asked.replaceWith(place);
  }
  if (question) asked.firstChild.textContent = question;
  node.ask = [inputs, parts, node.ids, heading, 2, words];
  node.done = false;
  seen.unobserve(node);
  // While the text is edited, what is wrong in it is said wherever it stands.
  if (inputs && !by("editor").hidden) work(node);
  else if (inputs) seen.observe(node);
  else place.textContent = "Too many problems for one file: this one is not worked here. Its own worksheet works it.";
}

const seen = new IntersectionObserver(
  (entries) => {
    for (const { isIntersecting, target } of entries) {
      if (isIntersecting && !target.done) work(target, true);
    }
  },
  { rootMargin: NEAR },
);

/** Works a problem that someone waits for. */
function work(node, urgent = false) {
  seen.unobserve(node);
  node.setAttribute("aria-busy", "true");
  document.body.dataset.state = "busy";
  return answered(node, urgent);
}

/** Promises that a problem's question is answered; nothing is asked twice. */
function answered(node, urgent = false) {
  if (node.asked !== node.ask) {
    node.asked = node.ask;
    node.answer = answer(node, urgent);
  }
  return node.answer;
}

async function answer(node, urgent) {
  const asked = node.ask;
  const place = node.querySelector(".place");
  try {
    const html = await pool.ask(node, asked, urgent);
    // A newer question is on its way, or the problem has left the page.
    if (html === undefined || !(await put(html, place, () => node.ask === asked && node.isConnected))) return;
    node.html = html;
  } catch (error) {
    if (node.ask !== asked) return;
    place.textContent = `This problem could not be worked: ${error.message}`;
    node.html = "";
  }
  node.done = true;
  node.removeAttribute("aria-busy");
  remarks();
  settle();
}

/** Puts a block in its place bit by bit, as long as it is `wanted` there; was it, to the end? */
function put(html, place, wanted) {
  return new Promise((answer) => {
    let shown;
    fill(html, {
      wanted: () => wanted() || void answer(false),
      begin: (section) => {
        shown = section;
        section.dataset.state = "filling";
        // Another answer keeps the room of the one before while it fills.
        const old = place.querySelector(".block");
        if (old) section.style.minHeight = `${old.offsetHeight}px`;
        place.replaceChildren(section);
      },
      end: ({ dataset }) => {
        shown.style.minHeight = "";
        if (!shown.getAttribute("style")) shown.removeAttribute("style");
        shown.dataset.state = dataset.state;
        answer(true);
      },
    });
  });
}

/** The problems that nobody has worked yet. */
const left = () => [...view.querySelectorAll(".worked")].filter((node) => !node.done && node.ask[0]);

const idle = self.requestIdleCallback ?? ((then) => setTimeout(then, 200));
let resting = false;

/**
 * While there is nothing else to do the problems that were never in sight are worked, one at a time:
 * then the browser's own command to print and its search find them, too.
 */
function rest() {
  const [node] = left();
  if (!node || resting) return;
  resting = true;
  idle(async () => {
    if (document.body.dataset.state === "ready") await answered(node);
    resting = false;
    if (document.body.dataset.state === "ready") rest();
  });
}

/** Prints the sheet once every problem on it is worked, also those that were never in sight. */
async function paper() {
  await Promise.all(left().map((node) => work(node)));
  print();
}

function settle() {
  const busy = due || view.querySelector('[aria-busy="true"]');
  document.body.dataset.state = busy ? "busy" : "ready";
  if (!busy) rest();
}

/** What is to be said about the text, in its list and under the text itself. */
function remarks() {
  const notes = reading.notes();
  for (const node of view.children) {
    // What a block says belongs to the text that it was made from.
    if (node.done && !due) notes.push(...reading.block_notes(node.number, node.html));
  }
  notes.sort((a, b) => a[4] - b[4]);
  // What is still so stays as it is: someone may be about to press its button.
  const list = by("notes");
  const old = new Map([...list.children].map((item) => [item.key, item]));
  const items = notes.map((note) => {
    const key = note.join("\u0000");
    const item = old.get(key) ?? remark(note);
    old.delete(key);
    item.key = key;
    return item;
  });
  for (const item of old.values()) item.remove();
  items.forEach((item, at) => {
    if (list.children[at] !== item) list.insertBefore(item, list.children[at] ?? null);
  });
  const errors = notes.filter((note) => note[1]).length;
  by("notes-count").textContent = notes.length === 0 ? "Remarks on the text: none" : `Remarks on the text: ${notes.length}`;
  by("edit").textContent = errors > 0 ? `Edit (${errors} to mend)` : "Edit";
  const marks = [];
  let at = 0;
  for (const [, error, , , start, end] of notes) {
    if (start < at || end <= start) continue;
    const mark = document.createElement("mark");
    if (error) mark.className = "error";
    mark.textContent = text.value.slice(start, end);
    marks.push(text.value.slice(at, start), mark);
    at = end;
  }
  // The last line break would not be seen.
  under.replaceChildren(...marks, `${text.value.slice(at)}\n`);
  follow();
}

function remark([, error, line, column, start, end, message, repairs]) {
  const item = document.createElement("li");
  if (error) item.className = "error";
  const place = document.createElement("button");
  place.type = "button";
  place.textContent = `Line ${line}, column ${column}`;
  place.addEventListener("click", () => select(start, end));
  item.append(place, ` ${message} `);
  for (const [label, changes] of repairs) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = label;
    button.addEventListener("click", () => repair(changes));
    item.append(button);
  }
  return item;
}

/** Shows a place in the text. */
function select(start, end) {
  text.focus();
  text.setSelectionRange(start, end);
  // The text scrolls to the selection only while someone types: its line is measured below it.
  const range = document.createRange();
  const walker = document.createTreeWalker(under, NodeFilter.SHOW_TEXT);
  for (let before = 0, node; (node = walker.nextNode()); before += node.length) {
    if (before + node.length < start) continue;
    range.setStart(node, start - before);
    text.scrollTop += range.getBoundingClientRect().top - under.getBoundingClientRect().top - text.clientHeight / 3;
    break;
  }
  follow();
}

/** Carries a repair out as if it had been typed, so that the browser can undo it. */
function repair(changes) {
  text.focus();
  for (const [start, end, words] of [...changes].sort((a, b) => b[0] - a[0])) {
    text.setSelectionRange(start, end);
    const done = document.execCommand(words ? "insertText" : "delete", false, words);
    if (!done) text.setRangeText(words, start, end, "end");
  }
  typed();
}

function follow() {
  under.scrollTop = text.scrollTop;
}

function typed() {
  draft.text = text.value;
  marker();
  clearTimeout(due);
  document.body.dataset.state = "busy";
  due = setTimeout(() => {
    due = undefined;
    keep();
    show(true);
  }, PAUSE);
}

function keep() {
  if (!draft.keep()) say("This browser keeps nothing for this page: save the file before you leave it.", true);
}

function marker() {
  by("unsaved").hidden = !draft.unsaved;
  by("name").textContent = draft.name;
  by("shipped").value = [...by("shipped").options].some(({ value }) => value === draft.from) ? draft.from : "";
}

function say(words, alarm = false) {
  const line = document.createElement("p");
  line.textContent = words;
  if (alarm) line.className = "alarm";
  by("said").replaceChildren(...(words ? [line] : []));
}

/** Takes a text in place of the one that is there; unsaved changes to that one are kept aside. */
function take(name, words, from = "") {
  draft.put(name, words, from);
  text.value = words;
  clearTimeout(due);
  due = undefined;
  marker();
  before();
  keep();
  show();
}

function before() {
  by("before").hidden = !draft.before;
  by("before-open").textContent = draft.before?.name ?? "";
}

async function takeFile(file) {
  if (file.size > LONGEST) return say(`${file.name} is too long for a worksheet file.`, true);
  const words = new TextDecoder().decode(await file.arrayBuffer());
  if (words.includes("\u0000")) return say(`${file.name} is not a text.`, true);
  say("");
  take(file.name, words);
}

/** Opens a file of the site. Only addresses below this page's own folder are asked for. */
async function fetchFile(path) {
  const address = new URL(path, BASE);
  if (address.origin !== BASE.origin || !address.pathname.startsWith(BASE.pathname)) {
    say("Only files beside this page can be opened by their address. Download the file and open it here.", true);
    return false;
  }
  let words;
  try {
    const answer = await fetch(address);
    if (!answer.ok) throw new Error(`the server answers ${answer.status}`);
    const kind = answer.headers.get("content-type") ?? "";
    if (/html|javascript|wasm|image|font/.test(kind)) throw new Error("it is not a text file");
    words = await answer.text();
  } catch (error) {
    say(`${path} could not be opened: ${error.message}.`, true);
    return false;
  }
  say("");
  take(decodeURIComponent(address.pathname.split("/").pop()), words, path);
  return true;
}

function save() {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text.value], { type: "text/markdown" }));
  link.download = draft.name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
  draft.saved();
  marker();
  keep();
  say(`${draft.name} is offered as a download.`);
}

function edit(on) {
  document.body.dataset.editing = on ? "yes" : "no";
  by("editor").hidden = !on;
  by("edit").setAttribute("aria-pressed", String(on));
  if (!on) return;
  follow();
  for (const node of view.querySelectorAll(".worked:not([aria-busy])")) if (!node.done && node.ask[0]) work(node);
}

function asked() {
  const found = /^#from=(.+)$/.exec(location.hash);
  return found ? decodeURIComponent(found[1].replace(/\+/g, " ")) : "";
}

/** Texts into links and back: the other module's business, fetched when it is asked for. */
async function links() {
  const [{ default: bind, join }, found, { module, more }] = await Promise.all([import("./web.js"), import("./unpack.js"), both(BASE)]);
  await bind({ module_or_path: module });
  join(more);
  return found;
}

/** Opens the file that a packed link in the address holds; was there one? */
async function unpacked() {
  const { hash } = location;
  if (!/^#\d+\./.test(hash)) return false;
  history.replaceState(null, "", location.pathname + location.search);
  try {
    const [packed, name = "worksheet.md"] = hash.split(NAME);
    const words = await (await links()).unpack(packed);
    if (words.startsWith("equation=")) {
      location.replace(`index.html#${words}`);
      return true;
    }
    say("");
    // What is here already stays as it is, with its name.
    if (words === draft.text && view.hasChildNodes()) return true;
    take(decodeURIComponent(name).slice(0, 100), words);
    draft.touched();
    marker();
    keep();
    return true;
  } catch (trouble) {
    say(String(trouble), true);
    return false;
  }
}

/** To the page of hand-outs, with this text in the address. */
async function handOut(event) {
  event.preventDefault();
  const packed = await (await links()).pack(text.value);
  location.href = `handout.html#${packed}${NAME}${encodeURIComponent(draft.name)}`;
}

async function share() {
  await links();
  (await import("./sharing.js")).open(BASE, { name: draft.name, text: text.value, from: draft.unsaved ? "" : draft.from });
}

/** At the start: what is asked for in the address, else what was kept, else the first that ships. */
async function begin() {
  const from = asked();
  const kept = draft.recall();
  if (kept && (!from || (from === draft.from && draft.unsaved))) {
    text.value = draft.text;
    marker();
    before();
    if (draft.unsaved) say("Your changes from the last time are here; they are not saved yet.");
    show();
    await unpacked();
    return;
  }
  before();
  if (await unpacked()) return;
  const first = by("shipped").options[1]?.value;
  if (!(await fetchFile(from || first)) && !view.hasChildNodes()) take("worksheet.md", BLANK);
}

await init({ module_or_path: new URL("reading.wasm", BASE) });

text.addEventListener("input", typed);
text.addEventListener("scroll", follow);
by("edit").addEventListener("click", () => edit(by("editor").hidden));
by("save").addEventListener("click", save);
by("print").addEventListener("click", paper);
by("share").addEventListener("click", share);
by("handout").addEventListener("click", handOut);
by("new").addEventListener("click", () => {
  take("worksheet.md", BLANK);
  edit(true);
  text.focus();
});
by("open").addEventListener("click", () => by("pick").click());
by("pick").addEventListener("change", () => {
  const [file] = by("pick").files;
  // The same file can be chosen again.
  by("pick").value = "";
  if (file) takeFile(file);
});
by("shipped").addEventListener("change", () => {
  const path = by("shipped").value;
  if (path) location.hash = `from=${path}`;
});
by("before-open").addEventListener("click", () => {
  const { name, text: words, from } = draft.before;
  draft.before = undefined;
  take(name, words, from);
  draft.touched();
  marker();
  keep();
});
addEventListener("hashchange", () => {
  const from = asked();
  if (from) fetchFile(from);
  else unpacked();
});
addEventListener("dragover", (event) => {
  if (!event.dataTransfer?.types.includes("Files")) return;
  event.preventDefault();
  document.body.dataset.dropping = "yes";
});
addEventListener("dragleave", () => delete document.body.dataset.dropping);
addEventListener("drop", (event) => {
  delete document.body.dataset.dropping;
  const [file] = event.dataTransfer?.files ?? [];
  if (!file) return;
  event.preventDefault();
  takeFile(file);
});
// Whatever happens next, what was typed is kept.
addEventListener("pagehide", () => draft.keep());
document.addEventListener("visibilitychange", () => draft.keep());
addEventListener("beforeunload", (event) => {
  if (draft.unsaved && !draft.keep()) event.preventDefault();
});
// On paper every question is answered, and every problem is there.
addEventListener("beforeprint", () => {
  for (const details of view.querySelectorAll(".asked")) details.open = true;
  for (const wait of view.querySelectorAll(".wait")) wait.textContent = UNPRINTED;
});

await begin();
