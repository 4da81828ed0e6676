// Options: the fields about how recordings are compared and how far to go.

const HOLD_MS = 400, REPEAT_MS = 70; // a held button repeats

// Puts buttons for one step down and up around a number field; its arrow keys do the same. next
// returns the value one step from another in direction ±1. The buttons are for the pointer only,
// since the arrow keys do the same.
function addSteppers(box, next, take) {
  const field = box.querySelector("input");
  const by = (direction) => {
    const value = next(readNumber(field.value), direction);
    if (!Number.isFinite(value) || value === readNumber(field.value)) return;
    field.dataset.settled = field.value = shownIn(field, value);
    sayAt(field, "");
    take(value);
  };
  const button = (words, spoken, direction) => {
    const b = make("button", { type: "button", textContent: words, tabIndex: -1, title: spoken });
    b.setAttribute("aria-hidden", "true");
    let timer = null;
    const stop = () => clearTimeout(timer);
    b.addEventListener("pointerdown", () => {
      const again = () => {
        by(direction);
        timer = setTimeout(again, REPEAT_MS);
      };
      timer = setTimeout(again, HOLD_MS);
    });
    for (const end of ["pointerup", "pointerleave", "pointercancel"]) b.addEventListener(end, stop);
    b.addEventListener("click", () => by(direction));
    return b;
  };
  field.before(button("−", "a step down", -1));
  field.after(button("+", "a step up", 1));
  field.addEventListener("keydown", (event) => {
    const direction = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (!direction) return;
    event.preventDefault();
    by(direction);
  });
}

// Binds the field of an option: its note, its steppers if any, and the function that takes its value.
function onNumber(id, check, take) {
  const field = byId(id), box = field.closest(".stepped");
  (box ?? field).after(addNote(field));
  bindNumber(field, check, (value) => take(value));
  if (!box) return;
  const { step, min, max } = box.dataset;
  addSteppers(box, (value, direction) => {
    const steps = value / step, near = direction > 0 ? Math.floor(steps + 1e-9) : Math.ceil(steps - 1e-9);
    return Math.min(Math.max((near + direction) * step, min), max);
  }, take);
}
const whole = (check, words) => (value) => {
  const found = check(Math.round(value));
  return found.wrong || Number.isInteger(value) ? found : { ...found, words };
};
onNumber("max-moves", whole(between(0, 8), "Rounded to whole moves."), (max_moves) => change({ max_moves }, "max-moves"));
for (const { id, dataset, parentElement } of numbers) onNumber(id, zeroOr(between(Number(parentElement.dataset.least), Number(parentElement.dataset.max), dataset.unit)), (value) => change({ [dataset.option]: value }, id));
onNumber("range-low", (hz) => between(20, Math.min(10000, app.fields.range_hz[1] / 2), "Hz")(hz), (hz) => change({ range_hz: [hz, app.fields.range_hz[1]] }, "range-low"));
onNumber("range-high", (hz) => between(Math.max(40, 2 * app.fields.range_hz[0]), 20000, "Hz")(hz), (hz) => change({ range_hz: [app.fields.range_hz[0], hz] }, "range-high"));
const loudest = byId("loudest");
loudest.after(addNote(loudest));
bindNumber(loudest, zeroOr(between(3, 36000, "s")), (loudest_s) => change({ loudest_s }), (text) => (/^\s*(all)?\s*$/i.test(text) ? 0 : readTime(text)));
byId("stage").addEventListener("change", () => change({ stage: byId("stage").value }));
byId("plain").addEventListener("change", () => change({ plain: byId("plain").checked }));
byId("smooth").addEventListener("change", () => change({ smooth_oct: Number(byId("smooth").value) }));

byId("undo").addEventListener("click", undo);
byId("redo").addEventListener("click", redo);

// Shows the current values of all fields.
function showFields() {
  const f = app.fields;
  settle(byId("max-moves"), f.max_moves);
  for (const field of numbers) settle(field, f[field.dataset.option]);
  settle(byId("range-low"), f.range_hz[0]);
  settle(byId("range-high"), f.range_hz[1]);
  settle(byId("loudest"), f.loudest_s || "");
  byId("stage").value = f.stage ?? "rough";
  byId("plain").checked = f.plain;
  byId("smooth").value = f.smooth_oct;
  showEqualiser();
  byId("undo").disabled = app.past.length === 0;
  byId("redo").disabled = app.future.length === 0;
  showCounting();
  if (app.answer) showRows();
}
