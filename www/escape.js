/** A text as it stands in an attribute or between tags. */
export function escape(text) {
  return text.replaceAll("&", "&amp;").replaceAll('"', "&quot;").replaceAll("<", "&lt;").replaceAll("\n", "&#10;");
}
