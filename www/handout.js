// The page of hand-outs. What stands on the paper, and what a change does to the sheet, is the
// module's business (handout/sheet.rs), asked in a worker; here the fields are read, the paper's
// blocks are put on sheets, and the sheet's text is kept.

import { both } from "./modules.js";

const KEPT = "ordinary-point-handout";
const EMPTY = "";
// Behind a packed text that comes from the page of files or goes there: the file's name.
const NAME = ";name=";
const $ = (id) => document.getElementById(id);
const form = $("settings");
const paper = $("paper");
const dialog = $("words");

let sheet = EMPTY; // the worksheet file's text, and its name if it has one
let name = "";
let arrived = ""; // the problem that the address brought, and the sheet kept from before
let before = { sheet: EMPTY, name: "" };
let worker;
let asked = Promise.resolve();

// --- the module

const parts = both(new URL(".", import.meta.url));

/** Asks one question after the other. */
function ask(question) {
  asked = asked.then(() => answer(question));
  return asked;
}

async function answer(question) {
  if (!worker) {
    worker = new Worker(new URL("worker.js", import.meta.url), { type: "module" });
    worker.postMessage(await parts);
  }
  return new Promise((give) => {
    const failed = (why) => {
      worker.terminate();
      worker = undefined;
      say(`The part of the page that does the work has failed: ${why}. Your sheet is kept.`);
      give({});
    };
    worker.onmessage = ({ data }) => {
      if (data.died) failed(data.died);
      else if (data.parts || data.text !== undefined) give(data);
    };
    worker.onerror = (event) => failed(event.message ?? "it could not be started");
    worker.postMessage(question);
  });
}

function say(words) {
  $("said").textContent = words;
}

// --- what is kept

function keep() {
  try {
    localStorage.setItem(KEPT, JSON.stringify({ sheet, name, settings: settings() }));
  } catch {
    say("This browser keeps nothing for this page: download the worksheet file before you leave.");
  }
}

function kept() {
  try {
    return JSON.parse(localStorage.getItem(KEPT)) ?? {};
  } catch {
    return {};
  }
}

function settings() {
  const field = (name) => form.elements[name];
  const yes = (name) => (field(name).checked ? "yes" : "no");
  return new URLSearchParams({
    kind: field("kind").value,
    depth: field("rules").checked ? "rules" : "lines",
    plot: yes("plot"),
    table: yes("table"),
    far: yes("far"),
    room: field("room").value,
    paper: field("paper").value,
  }).toString();
}

function setSettings(text) {
  const given = new URLSearchParams(text);
  for (const name of ["kind", "room", "paper"]) {
    if (given.has(name)) form.elements[name].value = given.get(name);
  }
  for (const name of ["plot", "table"]) form.elements[name].checked = given.get(name) === "yes";
  form.elements.far.checked = given.get("far") !== "no";
  form.elements.rules.checked = given.get("depth") === "rules";
}

// --- the paper

/** Shows the sheet after a change, and keeps it. */
async function show(change = "") {
  document.body.dataset.state = "busy";
  document.body.dataset.kind = form.elements.kind.value;
  const { parts } = await ask({ sheet: [sheet, settings(), change] });
  if (parts) {
    const [text, fields, problems, head, ...blocks] = parts;
    sheet = text;
    for (const [name, value] of new URLSearchParams(fields)) {
      if (document.activeElement !== form.elements[name]) form.elements[name].value = value;
    }
    $("problems").innerHTML = problems;
    if (change) keep();
    await lay(head, blocks);
  }
  document.body.dataset.state = "ready";
}

function element(name, className, html = "") {
  const made = document.createElement(name);
  made.className = className;
  made.innerHTML = html;
  return made;
}

/** Puts the blocks on sheets of paper, in order; no line is cut. */
async function lay(head, blocks) {
  const letter = form.elements.paper.value === "letter";
  $("size-a4").media = letter ? "not all" : "all";
  $("size-letter").media = letter ? "all" : "not all";
  await Promise.all(["10pt 'Ordinary Point Text'", "italic 10pt 'Ordinary Point Text'", "10pt 'Ordinary Point Math'"].map((font) => document.fonts.load(font)));
  paper.style.zoom = "";
  paper.replaceChildren();
  const place = scrollY;
  let body = begin();
  body.innerHTML = head;
  for (const html of blocks) body = put(element("div", "block", html).firstElementChild, body);
  const sheets = [...paper.children];
  const title = form.elements.title.value;
  sheets.forEach((one, index) => {
    const foot = one.querySelector(".foot");
    foot.firstChild.textContent = title;
    foot.lastChild.textContent = sheets.length > 1 ? `${index + 1} / ${sheets.length}` : "";
    one.setAttribute("aria-label", `Page ${index + 1} of ${sheets.length}`);
  });
  for (const row of paper.querySelectorAll(".row[data-key]:not(.on)")) {
    const button = element("button", "edit", "words");
    button.type = "button";
    button.dataset.do = "row";
    button.setAttribute("aria-label", `words for: ${row.querySelector(".why").textContent.slice(0, 60)}`);
    row.append(button);
  }
  fit();
  scrollTo(0, place);
}

/** Begins a sheet; answers where its blocks go. */
function begin() {
  const one = element("div", "sheet", '<div class="body"></div><p class="foot"><span></span><span></span></p>');
  one.setAttribute("role", "group");
  paper.append(one);
  return one.firstChild;
}

const full = (body) => body.scrollHeight > body.clientHeight + 1;
/** Is there nothing but this block on the sheet, and what has to stay with it? */
const alone = (block, body) => [...body.children].every((one) => one === block || one.matches(".head, .keep"));

/** Puts a block on the sheet, or on the next one with whatever has to stay with it. */
function put(block, body) {
  body.append(block);
  if (!full(body)) return body;
  const parts = divisible(block);
  // A block that takes much of a sheet is divided; a smaller one goes to the next sheet.
  if (parts && block.getBoundingClientRect().height > 0.45 * body.getBoundingClientRect().height) return divide(block, parts, body);
  if (alone(block, body)) return parts ? divide(block, parts, body) : over(body);
  const moving = [block];
  while (moving[0].previousElementSibling?.matches(".keep")) moving.unshift(moving[0].previousElementSibling);
  if (moving[0] === body.firstElementChild) moving.splice(0, moving.length - 1);
  const next = begin();
  moving.forEach((one) => one.remove());
  for (const one of moving.slice(0, -1)) next.append(one);
  return put(block, next);
}

/** The parts between which a block may be divided. */
function divisible(block) {
  const holder = block.matches("table") ? block.tBodies[0] : block.matches(".room") ? block : block.querySelector(":scope > .lines");
  return holder && holder.children.length > 1 ? holder : undefined;
}

/** Leaves as many parts on this sheet as there is room for, at least one where the sheet is bare. */
function divide(block, holder, body) {
  const rest = block.cloneNode(true);
  rest.classList.add("on");
  const why = rest.querySelector(".why");
  if (why) why.textContent = "continued";
  const marks = rest.querySelector(":scope > .marks");
  if (marks) marks.textContent = "";
  const more = divisible(rest);
  more.replaceChildren();
  const least = alone(block, body) ? 1 : 3;
  while (full(body) && holder.children.length >= least) more.prepend(holder.lastElementChild);
  // A few lines alone are left to the next sheet.
  if (holder.children.length < least && least > 1) {
    holder.append(...more.children);
    const next = begin();
    while (block.previousElementSibling?.matches(".keep") && block.previousElementSibling !== body.firstElementChild) next.prepend(block.previousElementSibling);
    next.append(block);
    return full(next) ? divide(block, holder, next) : next;
  }
  if (!holder.children.length) holder.append(more.firstElementChild);
  if (full(body)) body.parentElement.classList.add("tall");
  const next = begin();
  return more.children.length ? put(rest, next) : next;
}

/** Something that cannot be divided and is taller than a sheet: the sheet grows, and the printer goes on with the next one. */
function over(body) {
  body.parentElement.classList.add("tall");
  return begin();
}

/** Makes the sheets as small as the room for them. */
function fit() {
  const sheet = paper.firstElementChild;
  if (!sheet) return;
  paper.style.zoom = "";
  const style = getComputedStyle(paper);
  const room = paper.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
  const scale = Math.min(1, room / sheet.offsetWidth);
  if (scale < 1) paper.style.zoom = scale;
}

// --- changes

form.addEventListener("change", (event) => {
  if (event.target.id === "open") return;
  if (["title", "course", "date", "version"].includes(event.target.name)) {
    const get = (name) => [name, form.elements[name].value];
    show(new URLSearchParams([["do", "head"], get("title"), get("course"), get("date"), get("version")]).toString());
  } else {
    show().then(keep);
  }
});
form.addEventListener("submit", (event) => event.preventDefault());

addEventListener("click", (event) => {
  const button = event.target.closest?.("button");
  if (!button) return;
  const { problem } = button.closest("[data-problem]")?.dataset ?? {};
  const what = button.dataset.do;
  if (what === "row" || what === "problem") open(what, button.closest("[data-problem]"));
  else if (what) show(new URLSearchParams({ do: what, problem }).toString()).then(() => $("problems").querySelector("button")?.focus());
  else if (button.dataset.file) download(button.dataset.file);
  else if (button.id === "print") print();
  else if (button.id === "arrived-add") {
    ({ sheet, name } = before);
    $("arrived").hidden = true;
    show(adding(arrived));
  } else if (button.id === "arrived-show") {
    ({ sheet, name } = before);
    $("arrived").hidden = true;
    show();
  }
});

const adding = (fragment) => new URLSearchParams({ do: "add", inputs: fragment }).toString();

/** The dialog for a row's words, or for a problem's. */
function open(what, place) {
  const fields = dialog.querySelector("form").elements;
  const row = what === "row";
  const key = form.elements.kind.value === "key";
  const shown = { reason: row, remark: row, marks: row && key, name: !row, ask: !row, room: !row };
  for (const [name, on] of Object.entries(shown)) $(`words-${name}`).hidden = !on;
  const names = row ? ["reason", "remark", ...(key ? ["marks"] : [])] : ["title", "ask", "room"];
  for (const name of names) fields[name].value = place.dataset[name];
  dialog.onclose = () => {
    if (dialog.returnValue !== "keep") return;
    const change = new URLSearchParams({ do: what, problem: place.dataset.problem });
    if (row) change.set("key", place.dataset.key);
    for (const name of names) {
      if (!row || fields[name].value !== place.dataset[name]) change.set(name, fields[name].value);
    }
    show(change.toString()).then(() => {
      const again = `[data-problem="${place.dataset.problem}"]${row ? `[data-key="${place.dataset.key}"]` : ""} button`;
      (row ? paper : $("problems")).querySelector(again)?.focus();
    });
  };
  dialog.returnValue = "";
  dialog.showModal();
}

const FILES = {
  latex: ["tex", "application/x-tex"],
  markdown: ["md", "text/markdown"],
  html: ["html", "text/html"],
  coefficients: ["csv", "text/csv"],
  values: ["csv", "text/csv"],
  sheet: ["md", "text/markdown"],
};

async function download(format) {
  const { text } = format === "sheet" ? { text: sheet } : await ask({ file: [sheet, settings(), format] });
  if (text === undefined) return;
  const [ending, type] = FILES[format];
  const kind = ["sheet", "coefficients", "values"].includes(format) ? format : form.elements.kind.value;
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text], { type }));
  const stem = name.replace(/\.[^.]*$/, "");
  link.download = format === "sheet" && name ? name : `${stem ? `${stem}-` : ""}${kind}.${ending}`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

$("open").addEventListener("change", async ({ target }) => {
  const [file] = target.files;
  if (!file) return;
  sheet = await file.text();
  name = file.name;
  await show();
  keep();
  target.value = "";
});

addEventListener("resize", fit);

// --- to and from worksheet files

/** Texts into links and back. */
async function links() {
  const [{ default: bind, join }, found, { module, more }] = await Promise.all([import("./web.js"), import("./unpack.js"), parts]);
  await bind({ module_or_path: module });
  join(more);
  return found;
}

$("file").addEventListener("click", async (event) => {
  event.preventDefault();
  const packed = await (await links()).pack(sheet);
  location.href = `file.html#${packed}${name && NAME + encodeURIComponent(name)}`;
});

// --- the beginning

/** Takes the problem, or the worksheet file, of the address, and the sheet kept from before. */
async function take() {
  let fragment = location.hash.slice(1);
  let named = "";
  before = { sheet: kept().sheet ?? EMPTY, name: kept().name ?? "" };
  const packed = /^\d+\./.test(fragment);
  if (packed || /(^|&)equation=/.test(fragment)) history.replaceState(null, "", location.pathname + location.search);
  if (packed) {
    try {
      const [text, its = ""] = fragment.split(NAME);
      fragment = await (await links()).unpack(text);
      named = decodeURIComponent(its).slice(0, 100);
    } catch (trouble) {
      say(String(trouble));
      fragment = "";
    }
  }
  const problem = /(^|&)equation=/.test(fragment.split("\n", 1)[0]);
  if (!problem && !(packed && fragment)) {
    ({ sheet, name } = before);
    return show();
  }
  arrived = problem ? fragment : "";
  const { parts } = problem ? await ask({ sheet: [EMPTY, settings(), adding(fragment)] }) : { parts: [fragment] };
  const alone = parts?.[0] ?? EMPTY;
  const count = before.sheet.match(/^```ivp/gm)?.length ?? 0;
  const known = before.sheet.includes(alone.trim());
  ({ sheet, name } = known ? { ...before, name: named || before.name } : { sheet: alone, name: named });
  $("arrived-words").textContent = `You have a sheet from before, with ${count} problem${count > 1 ? "s" : ""}.`;
  $("arrived-add").hidden = !problem;
  $("arrived").hidden = known || !count;
  await show();
  if (!count) keep();
}

setSettings(kept().settings ?? settings());
addEventListener("hashchange", take);
await take();
