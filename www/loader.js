// Fetches and compiles the module's first part; the page and its worker share it. The second one is
// fetched by whoever needs it first and handed to the other; or taken from what the browser keeps of
// the site, once it does.
import init, { join, start, whenMissing } from "./web.js";
import { follow, offer } from "./links.js";
import { compile, now } from "./modules.js";

const address = new URL("web.wasm", import.meta.url);
const rest = new URL("more.wasm", import.meta.url);
const module = await compile(address);
const parts = { module, more: rest.href };
let worker;
await init({ module_or_path: module });
whenMissing(() => {
  try {
    now(rest, take);
  } catch (lack) {
    document.getElementById("link-trouble").textContent = lack.message;
    throw lack;
  }
});
await follow();
start(parts, begin);
const base = new URL(".", import.meta.url);
offer(base);
import("./offline.js").then(({ keep }) => keep(base)).then(fromKept).catch(() => {
  // Not kept, or of another version: it is fetched when it is needed.
});

function begin() {
  worker = new Worker(new URL("worker.js", import.meta.url), { type: "module" });
  worker.addEventListener("message", (event) => {
    if (!event.data.more) return;
    // It has needed the second part; this is no answer.
    event.stopImmediatePropagation();
    take(event.data.more);
  });
  return worker;
}

/** Joins the second part, compiled, to the page's module and to its workers', now and later. */
function take(more) {
  if (parts.more === more) return;
  join(more);
  parts.more = more;
  worker?.postMessage({ more });
}

/** Takes the second part from what is kept, without asking the network. */
async function fromKept() {
  const kept = await globalThis.caches?.match(rest);
  if (!kept || typeof parts.more !== "string") return;
  const more = await WebAssembly.compile(await kept.arrayBuffer());
  if (typeof parts.more === "string") take(more);
}
