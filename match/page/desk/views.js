// Views: each job has its own address after the #, so that the browser can go back and forth. The
// mix, the references and the options are shared: they are dropped and set once. Every view except
// the first requests a task from the server and shows its outcome.

// For each view: the roles it needs, roles it also uses, and the role of files dropped beside the
// places for them.
const VIEWS = {
  match: { needs: ["mix", "reference"] },
  check: { needs: ["mix", "reference"], also: ["before"] },
  class: { needs: ["class", "reference"], drops: "class" },
  nearest: { needs: ["mix", "reference"], drops: "reference" },
  tracks: { needs: ["mix", "reference", "track"], drops: "track" },
  exercise: { needs: ["mix"], button: true },
  marking: { needs: [], papers: true },
  equaliser: { needs: ["print"], drops: "print" },
};

const ROLES = [["mix", "mix"], ["reference", "reference"], ["before", "earlier mix"], ["class", "mix of the class"], ["track", "single track"], ["print", "print of the probe"], ["none", "not used"]];

const view = { name: "match", asked: {} }; // the last request of each view: { request, id, told }

const inView = () => VIEWS[view.name];
const needsHere = () => inView().needs.filter((role) => role !== "mix" || !isSum());
const readyOf = (role) => files.filter((file) => file.role === role && file.state === "ready");

// Shows the view in the address.
function showView() {
  const name = location.hash.slice(1) || "match";
  if (!VIEWS[name]) return; // an anchor on the page
  view.name = name;
  for (const part of document.querySelectorAll("[data-for]")) part.hidden = !part.dataset.for.split(" ").includes(name);
  for (const link of document.querySelectorAll("#views a")) {
    if (link.hash === `#${name}`) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
  document.title = byId("views").querySelector("[aria-current]").textContent;
  byId("page-title").textContent = name === "match" ? "Tone of the mix beside the reference" : document.title;
  byId("recordings").classList.remove("all");
  files.forEach(showFile);
  showPapers();
  if (trials.left > 0) endTrials();
  silence();
  outcome.shown = null;
  showFiles();
  showOffers();
  refresh();
  scrollTo({ top: 0, behavior: "instant" });
}
addEventListener("hashchange", showView);

// A link to a place within the view goes there without a step of its own, so that the way back leads
// to the view before.
document.addEventListener("click", (event) => {
  const link = event.target.closest?.("a[href^='#']"), place = link && !VIEWS[link.hash.slice(1)] && byId(link.hash.slice(1));
  if (!place) return;
  event.preventDefault();
  if (place.tabIndex < 0) place.tabIndex = -1; // a heading takes the focus too
  place.focus();
  place.scrollIntoView();
});

// Returns the fields of the view's form, by the server's names.
function viewFields() {
  const all = {};
  for (const field of viewForm()?.querySelectorAll("[name]") ?? []) all[field.name] = field.dataset.value === undefined ? field.value : JSON.parse(field.dataset.value);
  return all;
}
const viewForm = () => document.querySelector(`form[data-for~="${view.name}"]`);

// A field keeps its value for the server beside its text. A form with a button is sent only by the
// button.
for (const form of document.querySelectorAll("form[data-for]")) {
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (inView().button) askView(true);
  });
  form.addEventListener("change", ({ target }) => target.dataset.value === undefined && refresh());
  for (const field of form.querySelectorAll("[data-least]")) {
    const { least, most, whole } = field.dataset, empty = field.dataset.value;
    field.after(addNote(field));
    const check = between(Number(least), Number(most), field.dataset.unit);
    bindNumber(field, (value) => (field.value.trim() === "" ? { value: "" } : check(whole === undefined ? value : Math.round(value))), (value) => {
      field.dataset.value = value === "" ? empty : value;
      refresh();
    }, (text) => (text.trim() === "" ? 0 : readNumber(text)));
  }
}
byId("probe-rate").addEventListener("change", ({ target }) => {
  target.dataset.value = target.value;
  byId("probe").href = `probe?rate=${target.value}`;
  refresh();
});
{
  const field = byId("exercise-part");
  field.after(addNote(field));
  field.addEventListener("change", () => {
    const { parts, wrong } = readParts(field.value, readyOf("mix")[0]?.duration_s ?? Infinity);
    sayAt(field, wrong ?? (parts?.length > 1 ? "One part is heard: the first." : ""), Boolean(wrong));
    if (!wrong) field.dataset.value = JSON.stringify(parts?.[0] ?? null);
  });
}

const viewRequest = () => ({ ...theRequest(), dialled: null, before: readyOf("before")[0]?.id ?? "", mixes: idsOf("class"), tracks: idsOf("track"), prints: idsOf("print"), ...(view.name === "tracks" ? placingFor() : {}), ...papersFor(), ...viewFields(), ...lessonFor() });

// Returns the lesson of a course that the exercise is to be, if it goes by one.
const byLesson = () => byId("exercise-difficulty").value === "lesson";
const lessonFor = () => (byLesson() ? { lesson: `${byId("exercise-lesson").dataset.value}/${byId("exercise-lessons").dataset.value}` } : {});
byId("exercise-difficulty").addEventListener("change", () => (byId("exercise-course").hidden = !byLesson()));

const idsOf = (role) => readyOf(role).map(({ id }) => id);

// Reports whether everything the view needs is here, and nothing is still being measured.
const viewReady = () => (!inView().papers || papersReady()) && needsHere().every((role) => readyOf(role).length > 0) && !files.some((file) => file.role !== "none" && isBusy(file));

// Requests the view's task, unless the same was requested before, and follows it.
async function askView(pressed = false) {
  const name = view.name, before = view.asked[name];
  if (inView().button && before && JSON.parse(before.request).mix !== app.mix) endTask(name); // it was about another mix
  if (viewForm()?.querySelector("[type=submit]")) viewForm().querySelector("[type=submit]").disabled = !viewReady();
  showOutcome();
  if (!viewReady() || (inView().button && !pressed)) return;
  const asked = JSON.stringify(viewRequest());
  if (before?.request === asked && !before.told.trouble) return;
  if (before?.id && !before.told.outcome) endTask(name);
  const now = (view.asked[name] = { request: asked, id: null, told: { state: "waiting", done: null, outcome: before?.told.outcome, id: before?.told.id } });
  const isNow = () => view.asked[name] === now;
  showOutcome();
  try {
    const { id } = await request("POST", `tasks/${name}`, JSON.parse(asked));
    now.id = id;
    for (;;) {
      if (!isNow()) return request("DELETE", `tasks/${id}`).catch(() => {});
      const told = await request("GET", `tasks/${id}`);
      if (!isNow()) continue;
      now.told = told.outcome || told.trouble ? told : { ...told, outcome: now.told.outcome, id: now.told.id };
      if (view.name === name) showOutcome();
      if (told.state === "ready" || told.state === "failed") break;
      await new Promise((done) => setTimeout(done, POLL_MS));
    }
    if (now.told.outcome && view.name === name) byId("announce").textContent = now.told.outcome.headline;
  } catch (trouble) {
    if (!isNow()) return;
    if (!(trouble.what && trouble.hint)) throw trouble;
    if (trouble.lost) view.asked[name] = undefined; // requested again once the server is back
    else now.told = { state: "failed", trouble };
    if (view.name === name) showOutcome();
  }
}

// Cancels a view's task.
function endTask(name) {
  const { id } = view.asked[name];
  view.asked[name] = undefined;
  if (id) request("DELETE", `tasks/${id}`).catch(() => {});
}
byId("task-stop").addEventListener("click", () => {
  const { request: asked, id } = view.asked[view.name];
  view.asked[view.name] = { request: asked, id: null, told: { state: "failed", trouble: { what: "Stopped.", hint: inView().button ? "Press the button to begin again." : "Change a field or a file to begin again." } } };
  if (id) request("DELETE", `tasks/${id}`).catch(() => {});
  showOutcome();
});
