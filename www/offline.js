// The site once more in the browser's own keeping, so that it opens without a network. A newer
// version is announced; it takes the place of this one only when the reader says so.

/** Keeps the site at `base`, where the browser allows it; done when a version is kept. */
export async function keep(base) {
  // A frame on another page keeps nothing on its reader's machine.
  if (!navigator.serviceWorker || !base.protocol.startsWith("http") || self.origin === "null" || self !== top) return;
  const bar = document.getElementById("newer");
  let asked = false;
  try {
    const kept = await navigator.serviceWorker.register(new URL("service.js", base));
    const look = () => {
      // The first version to be kept is no news.
      bar.hidden = !(kept.waiting && navigator.serviceWorker.controller);
    };
    kept.addEventListener("updatefound", () => kept.installing?.addEventListener("statechange", look));
    look();
    document.getElementById("use-newer").addEventListener("click", () => {
      asked = true;
      kept.waiting?.postMessage("use it now");
    });
    navigator.serviceWorker.addEventListener("controllerchange", () => {
      if (asked) location.reload();
    });
    await navigator.serviceWorker.ready;
  } catch {
    // Refused (a private window, a policy): the page works with a network all the same.
  }
}
