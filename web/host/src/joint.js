let lack = () => {
throw new Error("a part of the module is missing");
};
let joined = false;
/** What is to be done when the second part is missing: it has to be there afterwards. */
export function whenMissing(action) {
lack = action;
}
/** Joins the second part, compiled, to the first one. */
export function join(rest) {
if (!joined) new WebAssembly.Instance(rest, { "": wasm });
joined = true;
}
