// Number: the one reader of numbers and times as people type them.

// Reads "2.5", "2,5", "−2.5", "+3 dB", "1.2k" and "3.55 kHz"; NaN if the text is no number. "1,000"
// is refused: it may be 1 or 1000.
function readNumber(text) {
  const found = text.trim().replace(/[−–]/g, "-").match(/^([+-]?)\s*(\d+(?:[.,]\d*)?|[.,]\d+)\s*(k?)\s*(hz|db|%|s|oct)?$/i);
  if (!found || (isGrouped(found[2]) && !found[3])) return NaN;
  const value = Number(found[2].replace(",", ".")) * (found[3] ? 1000 : 1);
  return found[1] === "-" ? -value : value;
}

const isGrouped = (digits) => /^[1-9]\d{0,2},\d{3}$/.test(digits);

// Says why a text is no number.
function whyNoNumber(text) {
  const digits = text.trim();
  if (digits === "") return "Empty: the value before is back.";
  if (isGrouped(digits)) return `“${digits}” may be ${digits.replace(",", "")} or ${Number(digits.replace(",", "."))}: write it without the comma.`;
  return `“${digits.slice(0, 20)}” is no number.`;
}

// Reads a time: "1:23", "0:07.5", or seconds; NaN if the text is no time.
function readTime(text) {
  const found = text.trim().match(/^(?:(\d+):)?(\d{1,2}):(\d{1,2}(?:[.,]\d*)?)$/);
  if (!found) return readNumber(text);
  const seconds = Number(found[3].replace(",", "."));
  if (seconds >= 60 || (found[1] && Number(found[2]) >= 60)) return NaN;
  return 3600 * Number(found[1] ?? 0) + 60 * Number(found[2]) + seconds;
}

// Returns a number as written in a field, with a true minus.
const shownNumber = (x) => String(x).replace("-", "−");
