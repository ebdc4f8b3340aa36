// The page for a frame: the problem is in the address, `embed.html#equation=…&show=ledger`, or a
// worksheet file, `embed.html#file=worksheets/3-oysters.md` or packed, `embed.html#1.…`, and the
// page around it is told how high the block is, in CSS pixels:
//   { ordinaryPoint: 1, height: 734 }
// The 1 is the message's version. It says nothing about the problem, so anyone may read it.

/** A file's address; whoever made the frame's address may ask for files beside this page only. */
function beside(file) {
  const folder = new URL(".", location.href);
  const address = new URL(file, folder);
  return address.href.startsWith(folder.href) ? address.href : new URL("files-beside-this-page-only", folder).href;
}

/** Puts the block on the page. */
export function fill() {
  const place = document.getElementById("place");
  const block = document.createElement("ordinary-point");

  function take() {
    const asked = new URLSearchParams(location.hash.replace(/^#/, ""));
    for (const name of ["show", "heading", "level"]) {
      if (asked.has(name)) block.setAttribute(name, asked.get(name));
      else block.removeAttribute(name);
    }
    // A frame is a page of its own: its first heading is this one.
    if (!asked.has("level")) block.setAttribute("level", "1");
    const file = asked.get("file");
    if (file === null) block.removeAttribute("file");
    else block.setAttribute("file", beside(file));
    block.setAttribute("fragment", location.hash);
  }

  take();
  addEventListener("hashchange", take);
  place.append(block);
  if (parent !== self) {
    const tell = () => parent.postMessage({ ordinaryPoint: 1, height: Math.ceil(place.getBoundingClientRect().height) }, "*");
    new ResizeObserver(tell).observe(place);
  }
}
