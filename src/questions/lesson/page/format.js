// Words and numbers of the page. No page, no buttons: node can run this file.

/** A sentence of the table with its {parts} filled in. */
function say(words, key, parts = {}) {
  const sentence = words[key] ?? key;
  return sentence.replace(/\{(\w+)\}/g, (all, name) => (name in parts ? String(parts[name]) : all));
}

/** A number with so many decimals, a true minus and the language's decimal mark. */
function fixed(words, value, decimals) {
  const text = value.toFixed(decimals).replace(".", words.decimal_mark);
  return /^-[0.,]*$/.test(text) ? text.slice(1) : text.replace("-", "\u2212");
}

/** A number with so many significant digits, without exponent. */
function digits(words, value, count) {
  if (value === 0) return "0";
  const power = Math.floor(Math.log10(Math.abs(value)));
  return fixed(words, value, Math.max(0, count - 1 - power));
}

/** A value and its uncertainty to the same place, two digits of the uncertainty. */
function withUncertainty(words, value, uncertainty) {
  const power = Math.floor(Math.log10(uncertainty));
  const decimals = Math.max(0, Math.min(8, 1 - power));
  return { value: fixed(words, value, decimals), uncertainty: fixed(words, uncertainty, decimals) };
}

/** A number as people type it, decimal comma or point; NaN where it is none. */
function typed(text) {
  const plain = text.trim().replace("\u2212", "-").replace(",", ".");
  return /^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i.test(plain) ? Number(plain) : NaN;
}
