// Words and numbers of the page. This file does not touch the document: node can run it.

/** A sentence of the word table with its {figures} filled in. */
function say(words, key, parts = {}) {
  const sentence = words[key] ?? key;
  return sentence.replace(/\{(\w+)\}/g, (all, name) => (name in parts ? String(parts[name]) : all));
}

/** A number with this many decimals, a true minus sign and the language's decimal mark. */
function fixed(words, value, decimals) {
  const text = value.toFixed(decimals).replace(".", words.decimal_mark);
  return /^-[0.,]*$/.test(text) ? text.slice(1) : text.replace("-", "\u2212");
}

/** A number with this many significant digits, without exponent. */
function digits(words, value, count) {
  if (value === 0) return "0";
  const power = Math.floor(Math.log10(Math.abs(value)));
  return fixed(words, value, Math.max(0, count - 1 - power));
}

/** A value and its uncertainty with the same number of decimals; the uncertainty has two significant digits. */
function withUncertainty(words, value, uncertainty) {
  const power = Math.floor(Math.log10(uncertainty));
  const decimals = Math.max(0, Math.min(8, 1 - power));
  return { value: fixed(words, value, decimals), uncertainty: fixed(words, uncertainty, decimals) };
}

/** A number as people type it, with decimal comma or point. NaN if it is none. */
function typed(text) {
  const plain = text.trim().replace("\u2212", "-").replace(",", ".");
  return /^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i.test(plain) ? Number(plain) : NaN;
}
