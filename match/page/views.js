// Views: each job has an address of its own behind the #, so that the browser goes back and
// forth between them. What is shared, the mix, the references and the options, is dropped and
// set once. A view but the first asks the server for a task and shows its outcome.

// What a view needs before it can be worked out, what it takes as well, and which role files
// get that are dropped beside the places for them.
const VIEWS = {
  match: { needs: ["mix", "reference"] },
  check: { needs: ["mix", "reference"], also: ["before"] },
  class: { needs: ["class", "reference"], drops: "class" },
  nearest: { needs: ["mix", "reference"], drops: "reference" },
};

const ROLES = [["mix", "mix"], ["reference", "reference"], ["before", "earlier mix"], ["class", "mix of the class"], ["none", "not used"]];

const view = { name: "match", asked: {} }; // what was last asked of each: { request, id, told, fields }

const inView = () => VIEWS[view.name];
const readyOf = (role) => files.filter((file) => file.role === role && file.state === "ready");

// Shows the view that the address names.
function showView() {
  const name = location.hash.slice(1) || "match";
  if (!VIEWS[name]) return; // a place on the page
  view.name = name;
  for (const part of document.querySelectorAll("[data-for]")) part.hidden = !part.dataset.for.split(" ").includes(name);
  for (const link of document.querySelectorAll("#views a")) {
    if (link.hash === `#${name}`) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
  document.title = byId("views").querySelector("[aria-current]").textContent;
  if (trials.left > 0) endTrials();
  if (name !== "match") heard?.transport.stop();
  showFiles();
  showOffers();
  refresh();
  scrollTo({ top: 0, behavior: "instant" });
}
addEventListener("hashchange", showView);

// What the fields of a view say, by the names the server has for them.
function viewFields() {
  const all = {};
  for (const field of document.querySelectorAll(`form[data-for~="${view.name}"] [name]`)) all[field.name] = field.tagName === "SELECT" ? field.value : Number(field.dataset.value);
  return all;
}
for (const form of document.querySelectorAll("form[data-for]")) {
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("change", ({ target }) => target.tagName === "SELECT" && refresh());
}
for (const field of document.querySelectorAll("input[name=within_db]")) {
  field.after(addNote(field));
  field.dataset.value = "0";
  bindNumber(field, (value) => (value === 0 ? { value } : between(0.1, 20, "dB")(value)), (value) => {
    field.dataset.value = value;
    if (value === 0) field.dataset.settled = field.value = "";
    refresh();
  }, (text) => (text.trim() === "" ? 0 : readNumber(text)));
}

const viewRequest = () => ({ ...theRequest(), dialled: null, before: readyOf("before")[0]?.id ?? "", mixes: readyOf("class").map(({ id }) => id), ...viewFields() });

// Reports whether all is here that the view needs, and nothing is still on its way.
const viewReady = () => inView().needs.every((role) => readyOf(role).length > 0) && !files.some((file) => file.role !== "none" && isBusy(file));

// Asks for the view's task, unless it was asked already, and follows it.
async function askView() {
  showOutcome();
  if (!viewReady()) return;
  const name = view.name, before = view.asked[name], asked = JSON.stringify(viewRequest());
  if (before?.request === asked) return;
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
    if (trouble.lost) view.asked[name] = undefined; // asked anew once the server is back
    else now.told = { state: "failed", trouble };
    if (view.name === name) showOutcome();
  }
}

// Gives up what a view has asked for.
function endTask(name) {
  const { id } = view.asked[name];
  view.asked[name] = undefined;
  if (id) request("DELETE", `tasks/${id}`).catch(() => {});
}
byId("task-stop").addEventListener("click", () => {
  const { request: asked, id } = view.asked[view.name];
  view.asked[view.name] = { request: asked, id: null, told: { state: "failed", trouble: { what: "Stopped.", hint: "Change a field or a file to begin again." } } };
  if (id) request("DELETE", `tasks/${id}`).catch(() => {});
  showOutcome();
});
