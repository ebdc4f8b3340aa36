// The page for a frame, with everything else fetched from the site.
import "./embed.js";
import { fill } from "./framed.js";

fill();
