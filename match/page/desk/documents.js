// Documents: dropped JSON files are recognised: a profile, settings, the description of an
// equaliser, papers of a lesson, or saved work. A person's own equaliser can be kept for good.

// Returns the text of a file, which some editors save as UTF-16 with a byte order mark.
async function textOf(file) {
  const bytes = new Uint8Array(await file.arrayBuffer());
  const mark = (bytes[0] << 8) | bytes[1];
  return new TextDecoder({ 0xfffe: "utf-16le", 0xfeff: "utf-16be" }[mark] ?? "utf-8").decode(bytes);
}

const MOST_JSON_BYTES = 20e6; // a larger file can only be a profile

// Takes a document. Returns "taken", or what else it is: "profile" or "sound".
async function takeDocument(file) {
  let document = null;
  try {
    if (file.size < MOST_JSON_BYTES) document = JSON.parse(await textOf(file));
  } catch {
    return "sound"; // the server reports what is wrong with it
  }
  if (document === null || document.kind === "recordings without sound") return "profile";
  if (document.kind === WORK.kind) takeUpWork(file.name, document);
  else if (PAPER_KINDS[document.kind]) await takePaper(PAPER_KINDS[document.kind], file);
  else if (Array.isArray(document.shapes)) await takeEqualiser(file.name, document);
  else if (Array.isArray(document.moves) && document.rate_hz) offerSettings(file.name, document);
  else return "sound";
  return "taken";
}

// Settings: shown as a set of moves, or undone in a mix that runs through them.

const offered = { name: "", settings: null };

function offerSettings(name, settings) {
  Object.assign(offered, { name, settings });
  showSettingsOffer();
}

function showSettingsOffer() {
  const { name, settings } = offered, count = settings?.moves.length;
  byId("settings-offer").hidden = !settings;
  byId("settings-words").textContent = settings ? `“${name}” holds ${count} ${count === 1 ? "move" : "moves"}. What are they?` : "";
  byId("settings-show").disabled = !app.answer;
  byId("settings-show").title = app.answer ? "" : "Once a mix and a reference are measured";
  byId("settings-bounced").disabled = !mixReady();
}

function leaveSettings() {
  offered.settings = null;
  showSettingsOffer();
}
byId("settings-leave").addEventListener("click", leaveSettings);
byId("settings-bounced").addEventListener("click", () => {
  const { settings } = offered;
  leaveSettings();
  change({ already: settings, dialled: null });
});
byId("settings-show").addEventListener("click", async () => {
  const { name, settings } = offered;
  try {
    const { moves } = await request("POST", "moves", { ...theRequest(), from: settings });
    leaveSettings();
    while (keptSets.length >= MOST_KEPT) keptSets.shift();
    keptSets.push({ name: name.replace(/\.json$/i, "").slice(0, 40), moves, distance: null });
    if (view.name === "match") chooseSet(moves, structuredClone(moves));
    else change({ dialled: structuredClone(moves) });
  } catch (trouble) {
    tellTrouble(trouble);
  }
});

// The equaliser that the moves are for.

const kept = { equaliser: null }; // the one kept for good

const nameOfEqualiser = (equaliser, name) => String(equaliser?.name || name).slice(0, 200);

// Takes a description for the moves, if the server can read it.
async function takeEqualiser(name, equaliser) {
  try {
    await request("POST", "equaliser", equaliser);
    change({ equaliser, equaliser_name: nameOfEqualiser(equaliser, name), dialled: null });
  } catch (trouble) {
    tellTrouble(trouble);
  }
}

onChosen("choose-equaliser", async ([file]) => {
  if (!file) return;
  try {
    takeEqualiser(file.name, JSON.parse(await textOf(file)));
  } catch {
    tellTrouble({ what: `“${file.name}” is not a description of an equaliser.`, hint: "Choose the .json file that describes one, such as this page makes from prints under My equaliser." });
  }
});
byId("usual-equaliser").addEventListener("click", () => change({ equaliser: null, equaliser_name: "", dialled: null }));

const isKept = () => kept.equaliser !== null && JSON.stringify(app.fields.equaliser) === JSON.stringify(kept.equaliser);

function showEqualiser() {
  const { equaliser, equaliser_name } = app.fields;
  byId("usual-equaliser").hidden = !equaliser;
  byId("keep-equaliser").hidden = !equaliser || isKept();
  byId("forget-equaliser").hidden = kept.equaliser === null;
  byId("equaliser-summary").textContent = equaliser ? `Equaliser: ${equaliser_name}` : "Equaliser";
  byId("equaliser-name").textContent = equaliser ? `The moves are for ${equaliser_name}${isKept() ? ", which you keep" : ""}.` : "The moves are for a common equaliser: one low shelf, one high shelf, and bells.";
}

async function changeKept(method, equaliser, words) {
  try {
    await request(method, "equaliser", equaliser ?? undefined);
    kept.equaliser = equaliser;
    byId("equaliser-state").textContent = words;
  } catch (trouble) {
    byId("equaliser-state").textContent = `${trouble.what}. ${trouble.hint}.`;
  }
  showEqualiser();
}
byId("keep-equaliser").addEventListener("click", () => changeKept("PUT", app.fields.equaliser, "Kept: this page and the command line take it from now on."));
byId("forget-equaliser").addEventListener("click", () => changeKept("DELETE", null, "No longer kept."));

// Uses the kept equaliser, if no other was chosen.
async function takeKept() {
  kept.equaliser = (await request("GET", "equaliser")).equaliser;
  if (!kept.equaliser) return;
  const own = { equaliser: kept.equaliser, equaliser_name: nameOfEqualiser(kept.equaliser, "your equaliser") };
  Object.assign(USUAL, own);
  Object.assign(app.fields, structuredClone(own));
}
