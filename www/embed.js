// <ordinary-point equation="y'' = x y" conditions="y(0) = 1, y'(0) = 0" degree="6"></ordinary-point>
//
// A problem worked out where the element stands, in any page: one module and one pool of workers
// for all of them, each worked out when it comes near the reader's view. The attributes are those of
// an address of the worksheet, and
//   fragment  such an address's part behind #; other attributes count more than what it says
//   file      the address of a worksheet file, shown as a whole
//   show      names of parts: problem ledger polynomial plot errors table far
//   heading   a heading in place of the usual one
//   level     its level, 1 to 6 (2)
// A change of any of them shows in the block. `worked` is fired on the element whenever it has been
// filled.

import { define } from "./element.js";
import { Pool } from "./pool.js";

const BASE = new URL(".", import.meta.url);

// Faces belong to the whole document; a shadow root's style sheet cannot bring them.
for (const [family, file, style] of [
  ["Ordinary Point Text", "pagella-regular", "normal"],
  ["Ordinary Point Text", "pagella-italic", "italic"],
  ["Ordinary Point Math", "pagella-math", "normal"],
]) {
  document.fonts.add(new FontFace(family, `url("${new URL(`fonts/${file}.woff2`, BASE).href}")`, { style, display: "swap" }));
}

/** What reads worksheet files, fetched when the first one is to be shown. */
async function files() {
  return (await import("./reader.js")).reader(BASE);
}

define(new Pool(BASE), fetch(new URL("block.css", BASE)).then((answer) => answer.text()), files);
