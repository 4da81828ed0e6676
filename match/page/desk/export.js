// Export: files to download, and the comparisons since the server started.

const making = new Set(); // the buttons whose files are being made

function showExports(answer) {
  const button = byId("exports").querySelector('[data-export="mix.wav"]');
  button.disabled = making.has(button) || !answer.sound || answer.rows.length === 0;
}

const handOut = (href, download) => make("a", { href, download }).click();

// Has a file made and hands it out; says in the element of the id state how that goes. Reports
// whether it is there.
async function makeFile(button, state, address, asked) {
  const say = (text) => (byId(state).textContent = text);
  const words = button.textContent;
  making.add(button);
  button.disabled = true;
  say(`${words}: being made …`);
  let made = null;
  try {
    made = await request("POST", address, asked);
    handOut(made.path, made.name);
    say(`${words}: handed to the browser as “${made.name}”.`);
  } catch (trouble) {
    say(`${words}: ${trouble.what} ${trouble.hint}`);
  }
  making.delete(button);
  button.disabled = false;
  if (app.answer) showExports(app.answer); // there may be no moves any more
  return made !== null;
}

for (const button of document.querySelectorAll("[data-export]")) {
  button.addEventListener("click", async () => {
    const made = await makeFile(button, "export-state", `export/${button.dataset.export}`, theRequest());
    if (made && button.dataset.export === "settings.json") noteSaved();
  });
}

// Lists the comparisons since the server started, the newest first.
async function showHistory(signal) {
  const { comparisons } = await request("GET", "history", undefined, signal);
  const nameOf = (id) => comparisons.find((entry) => entry.id === id)?.mix;
  byId("history").replaceChildren(...comparisons.toReversed().map((entry) => {
    const now = entry.id === app.answer?.comparison;
    const here = isHere(entry);
    const show = make("button", { type: "button", textContent: now ? "Shown" : here ? "Show" : "Not here", disabled: now || !here });
    show.setAttribute("aria-label", `${show.textContent}: ${entry.mix} beside ${entry.references.join(", ")}`);
    show.addEventListener("click", () => comeBack(entry));
    const before = entry.bounce_of && nameOf(entry.bounce_of);
    const cell = (name, className, content) => {
      const td = make("td", { className }, content);
      td.dataset.name = name;
      return td;
    };
    return make("tr", { className: now ? "now" : "" },
      cell("mix", "", entry.mix + (before ? ` (new bounce of ${before})` : "")), cell("references", "", shortList(entry.references)),
      cell("moves", "number", entry.moves), cell("distance", "number", inDB(entry.distance_before_db)),
      cell("with moves", "number", inDB(entry.distance_after_db)), make("td", { className: "number" }, show));
  }));
}

// Lists names, of many only the first.
const shortList = (names) => (names.length > 3 ? `${names[0]} and ${names.length - 1} more` : names.join(", "));

// Reports whether the recordings of a comparison are still here.
const isHere = ({ request: asked }) => [asked.mix, ...asked.references].every(fileOf);

// Shows a comparison as it was left.
function comeBack({ request: asked }) {
  const roleIn = ({ id }) => (id === asked.mix ? "mix" : asked.references.includes(id) ? "reference" : "none");
  for (const file of files) if (["mix", "reference"].includes(file.role) && roleIn(file) === "none") setRole(file, "none", true);
  for (const file of files) if (roleIn(file) !== "none" && file.role !== roleIn(file)) setRole(file, roleIn(file), true); // other jobs keep theirs
  place(true);
  const fields = Object.fromEntries(Object.keys(USUAL).map((name) => [name, name in asked ? asked[name] : USUAL[name]]));
  Object.assign(app, { draft: null, past: [], future: [], answer: null, after: asked.after, fields });
  forgetSets();
  if (waitingWork) waitingWork.holds = false;
  files.forEach(showFile);
  refresh();
}
