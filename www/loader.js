// Fetches and compiles the module once; the page and its worker share it.
import init, { start } from "./web.js";

const address = new URL("web.wasm", import.meta.url);
let module;
try {
  module = await WebAssembly.compileStreaming(fetch(address));
} catch {
  // A server that sends another content type.
  module = await WebAssembly.compile(await (await fetch(address)).arrayBuffer());
}
await init({ module_or_path: module });
start(module);
