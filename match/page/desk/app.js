// App: the current request, its history, and the requests to the server. Only this file asks the
// server about a comparison; the others fill and read the page.

const USUAL = {
  stage: "rough", max_moves: 4, smooth_oct: 0.3333, range_hz: [40, 16000], mix_part: null, ref_part: null, loudest_s: 0,
  plain: false, equaliser: null, equaliser_name: "", dialled: null, already: null, hear_mix_s: null, hear_ref_s: null,
};
const numbers = document.querySelectorAll("[data-option]"); // the fields of match.Numbers
for (const { dataset } of numbers) USUAL[dataset.option] = Number(dataset.usual);
const STEPS_BACK = 200; // of undo
const SAME_STEP_MS = 1000; // changes of one field within this time are one step
const ALIVE_MS = 1500; // between checks for a lost server
const NOT_LET_IN = 403; // the status of an answer to a page of another server

const app = {
  mix: null, references: [], after: "", // ids
  lastMix: null, // the mix, also if it was taken away since
  fields: structuredClone(USUAL),
  draft: null, // moves while a slider is dragged
  past: [], future: [],
  lastChange: { key: null, at: 0 },
  answer: null, // the last one
  saved: "", // the moves as last exported
  shownMs: 0, // time from the last change to its chart
};

const byId = (id) => document.getElementById(id);

// Makes an element with properties and children.
function make(tag, properties = {}, ...children) {
  const element = Object.assign(document.createElement(tag), properties);
  element.append(...children);
  return element;
}

// Sends a request and returns the answer. A refusal is thrown as {what, hint}.
async function request(method, path, document, signal) {
  let response;
  try {
    response = await fetch(path, { method, signal, body: document === undefined ? undefined : JSON.stringify(document) });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    if ((await look()) === "here") throw { what: "The page's server broke off its answer.", hint: "Change a field, or reload the page." };
    loseServer();
    throw { lost: true, what: "The page's server does not answer.", hint: "The page goes on by itself as soon as it does." };
  }
  if (response.status === NOT_LET_IN) {
    loseServer();
    throw { lost: true, what: "The page has a new address.", hint: "Open the address that toneplumb serve printed." };
  }
  const answer = response.status === 204 ? null : await response.json();
  if (!response.ok) throw answer;
  return answer;
}

// Looks for the server: "here", "gone", or "moved" if another has its port and does not know this page.
const look = () => fetch("history").then(({ ok, status }) => (ok ? "here" : status === NOT_LET_IN ? "moved" : "gone"), () => "gone");

let looking = null; // for a lost server

// Shows that the server is lost, and what was not confirmed, until it answers again; then repeats the
// request.
function loseServer() {
  const say = (found) => {
    byId("lost").hidden = found !== "gone";
    byId("moved").hidden = found !== "moved";
    byId("page").classList.toggle("lost", found !== "here");
    if (found !== "here" && byId("true-peak-after").textContent === BEING_MEASURED) showConfirmed(null, "–");
  };
  const again = async () => {
    const found = await look();
    say(found);
    if (found === "gone") return;
    clearInterval(looking);
    if (found === "moved") return; // for good
    looking = null;
    refresh();
  };
  if (looking !== null) return;
  say("gone");
  looking = setInterval(again, ALIVE_MS);
  again();
}

// Shows what went wrong and what to do; hides the box without trouble.
function tellTrouble(trouble) {
  const box = byId("trouble");
  box.hidden = !trouble || Boolean(trouble.lost);
  box.textContent = box.hidden ? "" : `${trouble.what}\n${trouble.hint}`;
}

const theRequest = () => ({ mix: app.mix, references: app.references, after: app.after, ...app.fields });

// Changes fields as a step that can be undone. Changes with the same key in quick succession are
// one step.
function change(fields, key = null) {
  app.draft = null;
  const before = JSON.stringify(app.fields), next = { ...app.fields, ...fields };
  if (JSON.stringify(next) === before) return showFields();
  const now = performance.now(), same = key !== null && key === app.lastChange.key && now - app.lastChange.at < SAME_STEP_MS;
  app.lastChange = { key, at: now };
  if (!same) {
    app.past.push(before);
    if (app.past.length > STEPS_BACK) app.past.shift();
  }
  app.future = [];
  app.fields = next;
  forgetWrong();
  refresh();
}

function step(from, to) {
  if (from.length === 0 || trials.left > 0) return;
  to.push(JSON.stringify(app.fields));
  app.fields = JSON.parse(from.pop());
  app.lastChange.key = null;
  forgetWrong();
  refresh();
}
const undo = () => step(app.past, app.future);
const redo = () => step(app.future, app.past);

// Starts with another mix: the fields stay, except those that depend on the old one.
function startAnew() {
  Object.assign(app.fields, { stage: USUAL.stage, dialled: null, already: null, mix_part: null, ref_part: null, hear_mix_s: null, hear_ref_s: null });
  Object.assign(app, { draft: null, past: [], future: [], answer: null, after: "" });
  forgetSets();
}

// Other references: the part was of one that may be gone, and undo must not restore it.
function forgetPart() {
  const whole = { ref_part: null, hear_ref_s: null };
  Object.assign(app.fields, whole);
  for (const steps of [app.past, app.future]) {
    const all = steps.map((fields) => JSON.stringify({ ...JSON.parse(fields), ...whole }));
    steps.splice(0, steps.length, ...all.filter((fields, i) => fields !== all[i - 1]));
  }
}

let asking = null; // aborts the previous request

// Requests the result for the fields: at once with the current moves, then with the advised ones.
async function refresh() {
  const began = performance.now();
  asking?.abort();
  showFields();
  if (view.name !== "match") return askView();
  showStage();
  if (!mixReady() || app.references.length === 0 || (!app.answer && isHeld())) {
    heard?.transport.stop(); // its controls cannot be seen
    return;
  }
  const { signal } = (asking = new AbortController());
  const asked = theRequest();
  try {
    const quick = app.answer ? { ...asked, meanwhile: shownMoves() } : asked;
    byId("found").classList.add("waiting");
    byId("waiting").hidden = Boolean(app.answer);
    let answer = await request("POST", "result", quick, signal);
    takeAnswer(answer);
    app.shownMs = performance.now() - began;
    if (answer.waiting) {
      answer = await request("POST", "result", asked, signal);
      takeAnswer(answer);
    }
    byId("found").classList.remove("waiting");
    tellTrouble(null);
    await Promise.all([followSound(asked, signal), showHistory(signal)]);
    await complete(asked, signal);
  } catch (error) {
    if (error.name === "AbortError") return;
    byId("found").classList.remove("waiting");
    if (!(error.what && error.hint)) throw error;
    tellTrouble(error);
  }
}

function takeAnswer(answer) {
  const first = app.answer === null;
  if (answer.waiting) answer.advised = app.answer.advised;
  app.answer = answer;
  byId("waiting").hidden = true;
  showStage();
  showAnswer(answer);
  if (first) comeIntoView(answer);
}

// Shows or hides the result, and folds the files away once there is one.
function showStage() {
  const found = Boolean(app.answer) && mixReady() && app.references.length > 0;
  const shown = byId("found").hidden;
  byId("found").hidden = byId("more").hidden = !found;
  foldFor(found, found && shown);
}

// Folds the files to one line if there is something else to see; newly: for the first time.
function foldFor(found, newly = byId("files-line").hidden) {
  byId("page").classList.toggle("unmeasured", !found);
  byId("files-line").hidden = !found;
  if (found && newly) openFiles(false);
  if (!found) openFiles(true);
  if (newly === found) document.querySelector(".prints").open = !found;
}

function openFiles(open) {
  byId("files-body").hidden = !open;
  byId("change-files").setAttribute("aria-expanded", open);
  byId("change-files").textContent = open ? "Fold" : "Change";
}
byId("change-files").addEventListener("click", () => openFiles(byId("files-body").hidden));

// Scrolls to a first answer and announces it.
function comeIntoView(answer) {
  byId("announce").textContent = `Measured. ${answer.headline}`;
  scrollTo({ top: 0, behavior: "instant" });
}

document.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.altKey || event.key.toLowerCase() !== "z") return;
  const field = event.target;
  if (field.matches?.("input[type=text]") && field.value !== field.dataset.settled) return; // the field undoes by itself
  event.preventDefault();
  event.shiftKey ? redo() : undo();
});
