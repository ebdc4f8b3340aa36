// The first message holds the parts of the module: `module`, compiled, and `more`, compiled or where it
// is; a module that is whole has no `more`. A message with nothing but `more` may follow. Every other
// one is a question: its number and the inputs, answered by the module itself; or inputs alone, which
// ask for the data; or what makes a block, answered by its HTML; or a sheet to hand out, answered by
// its parts, or by the text of a file.
import init, { join, whenMissing, prepare_worker, answer_question, answer_data, answer_block, hand_out, hand_out_as, is_link } from "./web.js";
import { Lack, now } from "./modules.js";

let ready;
onmessage = async ({ data }) => {
  if (data.module) {
    ready = begin(data);
    return;
  }
  try {
    await ready;
    if (data.more) join(data.more);
    else if (data.block) await show(...data.block);
    else if (data.sheet) postMessage({ parts: hand_out(...data.sheet) });
    else if (data.file) postMessage({ text: hand_out_as(...data.file) });
    else if (typeof data === "string") answer_data(data);
    else answer_question(...data);
  } catch (trap) {
    if (trap instanceof Lack) postMessage(new Error(trap.message));
    else postMessage(data.block || data.sheet || data.file ? { died: String(trap) } : String(trap));
  }
};

async function begin({ module, more }) {
  await init({ module_or_path: module });
  if (more instanceof WebAssembly.Module) join(more);
  else if (more) whenMissing(() => fetchNow(more));
  prepare_worker();
}

/** The second part at once: the work in hand waits for it. The page will need it, too. */
function fetchNow(address) {
  postMessage({ more: now(address, join) });
}

async function show(inputs, ...others) {
  if (is_link(inputs)) {
    const [packed, ...own] = inputs.split("&");
    try {
      const { unpack } = await import("./unpack.js");
      const text = await unpack(packed);
      // A worksheet file: whoever asks reads it.
      if (!text.startsWith("equation=")) return postMessage({ sheet: text });
      inputs = [text, ...own].join("&");
    } catch (trouble) {
      postMessage({ trouble: String(trouble) });
      return;
    }
  }
  postMessage({ html: answer_block(inputs, ...others) });
}
