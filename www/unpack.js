// Texts into links and back: the browser compresses, the module does the rest.

import { write_link, read_link, link_limits, link_trouble } from "./web.js";

/** The fragment, without #, that holds a text. */
export async function pack(text) {
  const packed = new Blob([text]).stream().pipeThrough(new CompressionStream("deflate-raw"));
  return write_link(new Uint8Array(await new Response(packed).arrayBuffer()));
}

/** The text that a fragment holds; throws what is wrong, in words. */
export async function unpack(fragment) {
  const bytes = read_link(fragment);
  const [most] = link_limits();
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
  const reader = stream.getReader();
  const parts = [];
  let length = 0;
  try {
    for (let part = await reader.read(); !part.done && length <= most; part = await reader.read()) {
      length += part.value.length;
      parts.push(part.value);
    }
  } catch {
    throw link_trouble(false);
  }
  if (length > most) {
    reader.cancel().catch(() => {});
    throw link_trouble(true);
  }
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(await new Blob(parts).arrayBuffer());
  } catch {
    throw link_trouble(false);
  }
}
