// The first message is the compiled module. Every other one is a question: its number and the
// inputs, answered by the module itself; or inputs alone, which ask for the data; or what makes a block, answered by its HTML; or a sheet to
// hand out, answered by its parts, or by the text of a file.
import init, { prepare_worker, answer_question, answer_data, answer_block, hand_out, hand_out_as, is_link } from "./web.js";

let ready;
onmessage = async ({ data }) => {
  if (data instanceof WebAssembly.Module) {
    ready = init({ module_or_path: data }).then(prepare_worker);
    return;
  }
  try {
    await ready;
    if (data.block) await show(...data.block);
    else if (data.sheet) postMessage({ parts: hand_out(...data.sheet) });
    else if (data.file) postMessage({ text: hand_out_as(...data.file) });
    else if (typeof data === "string") answer_data(data);
    else answer_question(...data);
  } catch (trap) {
    postMessage(data.block || data.sheet || data.file ? { died: String(trap) } : String(trap));
  }
};

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
