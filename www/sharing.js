// The dialog on sharing: a link that holds the worksheet or a worksheet file, and the code that shows
// it in another page, with a preview.

import { worksheet_address, worksheet_file, link_limits } from "./web.js";
import { pack } from "./unpack.js";
import { escape } from "./escape.js";

const PARTS = [
  ["problem", "problem", true],
  ["ledger", "ledger", true],
  ["polynomial", "polynomial", true],
  ["plot", "plot", true],
  ["errors", "difference", false],
  ["table", "table", false],
];

const DIALOG = `
<h2 id="sharing-title"></h2>
<p class="hint">All of it is in the link, behind #: no server sees or keeps it.</p>
<label for="sharing-link">Link</label>
<textarea id="sharing-link" rows="3" readonly spellcheck="false"></textarea>
<div class="buttons"><button type="button" id="sharing-copy-link">copy the link</button></div>
<p id="sharing-long" class="caution" hidden></p>
<div id="sharing-embed">
<h3>In another page</h3>
<fieldset><legend>As</legend>
<label><input type="radio" name="sharing-kind" value="element" checked><span>an element</span></label>
<label><input type="radio" name="sharing-kind" value="frame"><span>a frame</span></label></fieldset>
<fieldset id="sharing-parts"><legend>Show</legend></fieldset>
<p id="sharing-problems" class="hint">All of the file is in the code, or its address where this site has it. Of a file on your own site write the address: <code>file="week-5.md"</code>. To show one of its problems alone, open it as a worksheet and choose Share there.</p>
<label for="sharing-code">Embedding code</label>
<textarea id="sharing-code" rows="6" readonly spellcheck="false"></textarea>
<div class="buttons"><button type="button" id="sharing-copy-code">copy the embedding code</button> <a href="embedding.html">what a website must do for it</a></div>
<h3 id="sharing-preview-title">Preview</h3>
<div id="sharing-preview" role="region" aria-labelledby="sharing-preview-title" tabindex="0"></div>
<p class="hint"><a href="ordinary-point.html" download>The whole page as one file</a>: opens from a disk, without a network.</p>
</div>
<p id="sharing-said" role="status" class="said"></p>
<div class="buttons"><button type="button" id="sharing-close">close</button></div>`;

let dialog;
let base;
let sheet; // the worksheet file that is shared, and its link
const find = (name) => dialog.querySelector(`#sharing-${name}`);

/**
 * Opens it. `folder`: the site's address; nothing where the page is not on a website. `file`: the name
 * and the text of a worksheet file, and `from`, its address on the site if it is there just so; else it
 * is about the worksheet on the page.
 */
export async function open(folder, file) {
  base = folder;
  dialog ??= make();
  const address = file ? "" : worksheet_address();
  find("title").textContent = file ? "Share this worksheet file" : "Share this worksheet";
  find("embed").hidden = !base;
  find("problems").hidden = !file;
  find("parts").hidden = Boolean(file);
  find("said").textContent = "";
  const page = base ? `${base}${file ? "file.html" : ""}` : location.href.split("#")[0];
  const packed = await pack(file ? file.text : address);
  const link = `${page}#${packed}`;
  sheet = file && { ...file, packed };
  find("link").value = link;
  const [, most] = link_limits();
  const long = find("long");
  long.hidden = link.length <= most;
  if (!long.hidden) {
    long.textContent = `This link has ${link.length} characters; beyond ${most} some mail programs and websites cut links off. `;
    const offered = document.createElement("a");
    offered.textContent = "Give away the file instead";
    offered.download = file ? file.name : "worksheet.md";
    offered.href = URL.createObjectURL(new Blob([file ? file.text : worksheet_file(address)], { type: "text/markdown" }));
    long.append(offered);
  }
  if (base) code();
  dialog.showModal();
}

function make() {
  const made = document.createElement("dialog");
  made.id = "sharing";
  made.setAttribute("aria-labelledby", "sharing-title");
  made.innerHTML = DIALOG;
  dialog = made;
  for (const [name, words, usual] of PARTS) {
    const label = document.createElement("label");
    const box = document.createElement("input");
    box.type = "checkbox";
    box.value = name;
    box.checked = usual;
    const text = document.createElement("span");
    text.textContent = words;
    label.append(box, text);
    find("parts").append(label);
  }
  made.addEventListener("change", code);
  find("copy-link").addEventListener("click", () => copy(find("link"), "The link is copied."));
  find("copy-code").addEventListener("click", () => copy(find("code"), "The embedding code is copied."));
  find("close").addEventListener("click", () => made.close());
  made.addEventListener("close", () => find("preview").replaceChildren());
  if (base) {
    const sheet = document.createElement("link");
    sheet.rel = "stylesheet";
    sheet.href = new URL("sharing.css", base).href;
    document.head.append(sheet);
  }
  document.body.append(made);
  return made;
}

/** The code for what is chosen, and its preview. */
async function code() {
  const element = dialog.querySelector("[name=sharing-kind]:checked").value === "element";
  const { attributes, fragment, shown } = sheet ? ofFile() : ofWorksheet();
  const written = attributes.map(([name, value]) => `\n  ${name}="${escape(value)}"`).join("");
  const source = escape(`${base}embed.html#${fragment}`);
  find("code").value = element
    ? `<script type="module" src="${base}embed.js"><\/script>\n<ordinary-point${written}></ordinary-point>`
    : `<iframe title="Ordinary Point" src="${source}" sandbox="allow-scripts" loading="lazy" width="100%" height="600"></iframe>\n<script type="module" src="${base}fit.js"><\/script>`;
  await import(new URL("embed.js", base).href);
  const block = document.createElement("ordinary-point");
  for (const [name, value] of [...shown, ["level", "4"]]) block.setAttribute(name, value);
  find("preview").replaceChildren(block);
}

function ofFile() {
  const { from, packed } = sheet;
  const attributes = [from ? ["file", new URL(from, base).href] : ["fragment", packed]];
  return { attributes, fragment: from ? `file=${from}` : packed, shown: attributes };
}

function ofWorksheet() {
  const address = worksheet_address();
  const chosen = [...find("parts").querySelectorAll("input:checked")].map((box) => box.value);
  const attributes = [...new URLSearchParams(address), ["show", chosen.join(" ")]];
  const shown = [["fragment", address], ["show", chosen.join(" ")]];
  return { attributes, fragment: `${address}&show=${chosen.join("+")}`, shown };
}

async function copy(field, words) {
  field.select();
  try {
    await navigator.clipboard.writeText(field.value);
  } catch {
    // Closed to pages here: what is selected can be copied by hand, if not by the browser's command.
    if (!document.execCommand("copy")) words = "Not copied: the browser refuses. The text is selected.";
  }
  find("said").textContent = words;
}
