// The first message is the compiled module, every other one a question:
// its number and the inputs.
import init, { prepare_worker, answer_question } from "./web.js";

let ready;
onmessage = async ({ data }) => {
  if (data instanceof WebAssembly.Module) {
    ready = init({ module_or_path: data }).then(prepare_worker);
    return;
  }
  try {
    await ready;
    answer_question(...data);
  } catch (trap) {
    postMessage(String(trap));
  }
};
