// Worksheet files where the element stands (element.js): their prose as HTML, with an element of its
// own for each problem.

import init, { Reading } from "./reading.js";
import { escape } from "./escape.js";

let ready;

/** `read(text, address, level)`, which makes HTML of a file's text, and the `style` sheet for it. */
export function reader(base) {
  ready ??= begin(base).catch((error) => {
    // A later file may try again.
    ready = undefined;
    throw error;
  });
  return ready;
}

async function begin(base) {
  const style = new CSSStyleSheet();
  const answer = fetch(new URL("prose.css", base)).then((answer) => answer.text());
  await init({ module_or_path: new URL("reading.wasm", base) });
  await style.replace(await answer);
  return { read, style };
}

/** The file's own headings begin at `level`; pictures beside the file are beside `address`. */
function read(text, address, level) {
  const reading = new Reading(text);
  const pieces = reading.pieces();
  const title = escape(reading.title());
  const trouble = reading.notes().find(([, error]) => error)?.[6];
  reading.free();
  if (pieces.length === 0) throw new Error(trouble ?? "the file is empty");
  const deeper = (_, end, own) => `<${end}h${Math.min(Number(own) + level - 1, 6)}`;
  const beside = (_, source) => `<img src="${escape(new URL(source.replaceAll("&amp;", "&"), address).href)}"`;
  // Another file on the page has a first table, too.
  const named = (_, number) => `aria-label="Table ${number}: ${title}"`;
  const prose = (html) => html.replace(/<(\/?)h([1-6])\b/g, deeper).replace(/<img src="([^"]*)"/g, beside).replace(/aria-label="Table (\d+)"/g, named);
  const parts = pieces.map(([html, ...problem]) => (problem.length > 0 ? worked(html, problem, level) : `<div class="piece">${prose(html)}</div>`));
  return `<div class="view alone" data-state="worked">${parts.join("")}</div>`;
}

function worked(above, [inputs, parts, heading, question, , words], level) {
  const attributes = { fragment: inputs, show: parts, heading, words, level: Math.min(level + 1, 6) };
  const written = Object.entries(attributes).map(([name, value]) => ` ${name}="${escape(String(value))}"`);
  const problem = inputs ? `<ordinary-point${written.join("")}></ordinary-point>` : "<p>Too many problems for one file: this one is not worked.</p>";
  const asked = question ? `<details class="asked"><summary>${escape(question)}</summary>${problem}</details>` : problem;
  return `<div class="worked">${above}${asked}</div>`;
}
