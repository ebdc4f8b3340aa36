// The page for a frame, with everything else in it.
import { define } from "./element.js";
import { fill } from "./framed.js";
import { Pool } from "./pool.js";
import { inlined, text } from "./inlined.js";

define(new Pool(inlined()), Promise.resolve(text("block")));
fill();
