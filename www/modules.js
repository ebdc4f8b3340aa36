// The page's module comes in two parts: web.wasm is what the examples need, more.wasm is the rest.

/** Fetches and compiles a part. */
export async function compile(address) {
  try {
    return await WebAssembly.compileStreaming(fetch(address));
  } catch {
    // A server that sends another content type.
    return WebAssembly.compile(await (await fetch(address)).arrayBuffer());
  }
}

/** Both parts from the site's folder at `base`, as a worker takes them. */
export async function both(base) {
  const [module, more] = await Promise.all(["web.wasm", "more.wasm"].map((name) => compile(new URL(name, base))));
  return { module, more };
}

/** What a step cannot go on without: no defect. */
export class Lack extends Error {}

/**
 * Fetches a part at once and joins it, while everything else waits: for a step that cannot wait
 * itself.
 */
export function now(address, join) {
  try {
    const request = new XMLHttpRequest();
    request.open("GET", address, false);
    // Bytes as letters: a page may not ask for bytes in this way.
    request.overrideMimeType("text/plain; charset=x-user-defined");
    request.send();
    const more = new WebAssembly.Module(Uint8Array.from(request.responseText, (letter) => letter.charCodeAt(0) & 0xff));
    join(more);
    return more;
  } catch {
    throw new Lack("This needs a part of the program that could not be fetched, or is of another version. What you typed is kept; reloading the page may help.");
  }
}
