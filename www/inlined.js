// What a page that consists of one file has in it, in elements that no browser runs or shows.

/** The text of one. */
export function text(name) {
  return document.getElementById(`inlined-${name}`).textContent;
}

/** The whole module, as a worker takes it, and workers from the page itself. */
export function inlined() {
  return { parts: async () => ({ module: await module() }), worker: async () => worker() };
}

/** The module, which is compressed and in base 64. */
export async function module() {
  const bytes = Uint8Array.from(atob(text("module")), (letter) => letter.charCodeAt(0));
  const whole = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
  return WebAssembly.compile(await new Response(whole).arrayBuffer());
}

/** A worker that waits for the module. */
export function worker() {
  return new Worker(URL.createObjectURL(new Blob([text("worker")], { type: "text/javascript" })));
}
