// Fetches and compiles the module once; the page and its worker share it.
import init, { start } from "./web.js";
import { follow, offer } from "./links.js";

const address = new URL("web.wasm", import.meta.url);
let module;
try {
  module = await WebAssembly.compileStreaming(fetch(address));
} catch {
  // A server that sends another content type.
  module = await WebAssembly.compile(await (await fetch(address)).arrayBuffer());
}
await init({ module_or_path: module });
await follow();
start(module, () => new Worker(new URL("worker.js", import.meta.url), { type: "module" }));
const base = new URL(".", import.meta.url);
offer(base);
import("./offline.js").then(({ keep }) => keep(base));
