// App: what is asked for, what was asked before, and the asking. Only this file talks
// to the server about a comparison; the others fill and read the page.

const USUAL = {
  stage: "rough", max_moves: 4, toward_percent: 60, smooth_oct: 0.3333, range_hz: [40, 16000], mix_part: null, ref_part: null, loudest_s: 0,
  equaliser: null, equaliser_name: "", dialled: null, already: null,
};
const STEPS_BACK = 200; // of undo

const app = {
  mix: null, references: [], after: "", // ids
  fields: structuredClone(USUAL),
  past: [], future: [],
  answer: null, // the last one
  shownMs: 0, // from the last change to its chart
};

const byId = (id) => document.getElementById(id);

// Makes an element with properties and children.
function make(tag, properties = {}, ...children) {
  const element = Object.assign(document.createElement(tag), properties);
  element.append(...children);
  return element;
}

// Asks the server and returns its answer; what it refuses is thrown as {what, hint}.
async function request(method, path, document, signal) {
  let response;
  try {
    response = await fetch(path, { method, signal, body: document === undefined ? undefined : JSON.stringify(document) });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw { what: "The page’s server does not answer.", hint: "Start toneplumb serve again and open the address it prints." };
  }
  const answer = response.status === 204 ? null : await response.json();
  if (!response.ok) throw answer;
  return answer;
}

// Shows what went wrong and what to do, or nothing.
function tellTrouble(trouble) {
  const box = byId("trouble");
  box.hidden = !trouble;
  box.textContent = trouble ? `${trouble.what}\n${trouble.hint}` : "";
}

const theAsk = () => ({
  mix: app.mix, references: app.references, after: app.after, ...app.fields,
  dark: matchMedia("(prefers-color-scheme: dark)").matches,
});

// Changes fields as a step that can be undone.
function change(fields) {
  const before = JSON.stringify(app.fields), next = { ...app.fields, ...fields };
  if (JSON.stringify(next) === before) return showFields();
  app.past.push(before);
  if (app.past.length > STEPS_BACK) app.past.shift();
  app.future = [];
  app.fields = next;
  refresh();
}

function step(from, to) {
  if (from.length === 0) return;
  to.push(JSON.stringify(app.fields));
  app.fields = JSON.parse(from.pop());
  refresh();
}
const undo = () => step(app.past, app.future);
const redo = () => step(app.future, app.past);

// Starts with other recordings: the fields stay, but for what depends on the old ones.
function startAnew() {
  Object.assign(app.fields, { dialled: null, already: null, mix_part: null, ref_part: null });
  Object.assign(app, { past: [], future: [], answer: null, after: "" });
}

// Other references: the part was of one that may be gone, and undo must not bring it back.
function forgetPart() {
  app.fields.ref_part = null;
  for (const steps of [app.past, app.future]) {
    const whole = steps.map((fields) => JSON.stringify({ ...JSON.parse(fields), ref_part: null }));
    steps.splice(0, steps.length, ...whole.filter((fields, i) => fields !== whole[i - 1]));
  }
}

let asking = null; // ends the asking before

// Asks for what the fields say: at once with the moves as they stand, then with those
// that are advised.
async function refresh() {
  const began = performance.now();
  asking?.abort();
  showFields();
  if (!mixReady() || app.references.length === 0) {
    byId("found").hidden = true;
    heard?.transport.stop(); // its controls cannot be seen
    return;
  }
  const { signal } = (asking = new AbortController());
  const ask = theAsk();
  try {
    const quick = app.answer ? { ...ask, meanwhile: shownMoves() } : ask;
    byId("found").classList.add("waiting");
    let answer = await request("POST", "result", quick, signal);
    takeAnswer(answer);
    app.shownMs = performance.now() - began;
    if (answer.waiting) {
      answer = await request("POST", "result", ask, signal);
      takeAnswer(answer);
    }
    byId("found").classList.remove("waiting");
    tellTrouble(null);
    await Promise.all([followSound(ask, signal), showSitting(signal)]);
  } catch (error) {
    if (error.name === "AbortError") return;
    byId("found").classList.remove("waiting");
    if (!(error.what && error.hint)) throw error;
    tellTrouble(error);
    byId("found").hidden = !app.answer;
  }
}

function takeAnswer(answer) {
  if (answer.waiting) answer.advised = app.answer.advised;
  app.answer = answer;
  byId("found").hidden = false;
  showAnswer(answer);
}

document.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.altKey || event.key.toLowerCase() !== "z") return;
  const field = event.target;
  if (field.matches?.("input[type=number], input[type=text]") && field.value !== field.dataset.settled) return; // the field's own undo
  event.preventDefault();
  event.shiftKey ? redo() : undo();
});
