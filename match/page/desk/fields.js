// Fields: number fields that show an error beside the field.

// Returns a number as its field shows it: decibels with a decimal, as everywhere.
const shownIn = (field, x) => (field.dataset.unit === "dB" && Number.isInteger(x) ? shownNumber(x.toFixed(1)) : shownNumber(x));

// Shows a field's value and remembers it as settled.
function settle(field, value) {
  if (document.activeElement === field && field.value !== field.dataset.settled && field.dataset.settled !== undefined) return; // being typed
  field.value = typeof value === "number" ? shownIn(field, value) : value;
  field.dataset.settled = field.value;
  forgetNote(field);
}

let notes = 0;

// Makes the note below a field.
function addNote(field) {
  const note = make("span", { className: "field-note", id: `note-${++notes}`, role: "status" });
  field.setAttribute("aria-describedby", note.id);
  field.addEventListener("input", () => sayAt(field, ""));
  return note;
}

// Writes a note at a field: what was wrong, or what the field was set to.
function sayAt(field, words, wrong = false) {
  const note = byId(field.getAttribute("aria-describedby"));
  note.dataset.of = field.value;
  if (note.textContent !== words) note.textContent = words;
  note.classList.toggle("wrong", wrong);
  if (wrong) field.setAttribute("aria-invalid", "true");
  else field.removeAttribute("aria-invalid");
}

// Removes a note about another value than the current one.
function forgetNote(field) {
  const note = byId(field.getAttribute("aria-describedby"));
  if (note && note.dataset.of !== field.value) sayAt(field, "");
}

// Removes the notes about what could not be taken: what is shown has changed since.
function forgetWrong() {
  for (const field of document.querySelectorAll("[aria-invalid=true]")) sayAt(field, "");
}

// Binds a field: what is typed is read, checked and taken. check returns {value, words}, or {wrong}
// if the value is not allowed; then the last good value returns.
function bindNumber(field, check, take, read = readNumber) {
  const settled = () => {
    if (field.value === field.dataset.settled) return;
    const value = read(field.value);
    const found = Number.isNaN(value) ? { wrong: whyNoNumber(field.value) } : check(value);
    if (found.wrong) {
      field.value = field.dataset.settled ?? "";
      sayAt(field, found.wrong, true);
      return;
    }
    field.dataset.settled = field.value = shownIn(field, found.value);
    sayAt(field, found.words ?? "");
    take(found.value);
  };
  field.addEventListener("change", settled);
}

// Returns a check that a value is within two ends.
const between = (low, high, unit = "") => (value) =>
  value < low || value > high ? { wrong: `It goes from ${shownNumber(low)} to ${shownNumber(high)}${unit && ` ${unit}`}.` } : { value };

// Returns the same check, with 0 besides.
const zeroOr = (fits) => (value) => (value === 0 ? { value } : fits(value));
