// Keeps the site's files by version and answers from what is kept. VERSION and FILES (each file's
// name and digest) are written in front of this when the site is built.

const SCOPE = registration.scope;
const OURS = `ordinary-point ${SCOPE} `;

addEventListener("install", (event) => {
  event.waitUntil(
    caches.open(OURS + VERSION).then((kept) =>
      // The digest makes sure that all files are of this version, whatever lies between.
      kept.addAll(Object.entries(FILES).map(([name, integrity]) => new Request(SCOPE + name, { cache: "no-cache", integrity }))),
    ),
  );
});

addEventListener("activate", (event) => {
  event.waitUntil(
    caches.keys().then((names) => Promise.all(names.filter((name) => name.startsWith(OURS) && name !== OURS + VERSION).map((name) => caches.delete(name)))),
  );
});

// Only the reader's word makes a newer version take over.
addEventListener("message", ({ data }) => {
  if (data === "use it now") skipWaiting();
});

addEventListener("fetch", (event) => {
  const address = event.request.url.split(/[?#]/)[0];
  if (event.request.method !== "GET" || !address.startsWith(SCOPE)) return;
  const name = address.slice(SCOPE.length) || "index.html";
  if (!Object.hasOwn(FILES, name)) return;
  event.respondWith(
    caches.open(OURS + VERSION).then((kept) => kept.match(SCOPE + name)).then((found) => found ?? fetch(event.request)),
  );
});
