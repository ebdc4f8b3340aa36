// What a packed link holds is put in its place before the page reads its address; the rest about
// links is fetched when it is asked for.

import { is_link } from "./web.js";

/** Unpacks the address, now and whenever it changes; what is wrong with it is said. */
export async function follow() {
  await take();
  addEventListener("hashchange", take);
}

/** Opens the dialog on sharing when its button is pressed. `base` is the site's folder, if any. */
export function offer(base) {
  const button = document.getElementById("share");
  button.hidden = false;
  button.addEventListener("click", async () => (await import("./sharing.js")).open(base));
}

async function take() {
  if (!is_link(location.hash)) return;
  const { unpack } = await import("./unpack.js");
  const place = document.getElementById("link-trouble");
  place.textContent = "";
  try {
    const text = await unpack(location.hash);
    if (text.startsWith("equation=")) location.replace("#" + text);
    // A worksheet file has a page of its own.
    else if (location.protocol === "file:") throw "This link holds a worksheet file: it opens on the website, not in a single file.";
    else location.replace("file.html" + location.hash);
  } catch (trouble) {
    history.replaceState(null, "", location.pathname + location.search);
    place.textContent = String(trouble);
  }
}
