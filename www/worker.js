// The first message is the compiled module. Every other one is a question: its number and the
// inputs, answered by the module itself; or what makes a block, answered by its HTML.
import init, { prepare_worker, answer_question, answer_block } from "./web.js";

let ready;
onmessage = async ({ data }) => {
  if (data instanceof WebAssembly.Module) {
    ready = init({ module_or_path: data }).then(prepare_worker);
    return;
  }
  try {
    await ready;
    if (data.block) postMessage({ html: answer_block(...data.block) });
    else answer_question(...data);
  } catch (trap) {
    postMessage(data.block ? { died: String(trap) } : String(trap));
  }
};
