// Work: on request the work is saved as one file, and restored when that is dropped again: the
// fields, the sets, the roles of recordings and what is said about tracks, but not the sound. A reload
// keeps the moves, their undo and the sets by itself.

const WORK = { version: 1, kind: "toneplumb work" };

// The saved work that waits for recordings; back: its moves are back; holds: no advice is shown instead.
let waitingWork = null;

const recordingOfWork = ({ name, sha256, role, group, place }) => ({ name, sha256, role, group, place });

// Hands out the work, and says so at an element.
function keepWork(sayAt) {
  const here = files.filter(({ role, state }) => role !== "none" && state === "ready");
  const work = { ...WORK, recordings: [...here, ...missingOfWork()].map(recordingOfWork), fields: app.fields, sets: keptSets, no_mix_yet: byId("tracks-sum").checked };
  const mix = files.find(({ role }) => role === "mix")?.name ?? "mix";
  const name = `${mix.replace(/\.[^.]*$/, "") || "mix"} work.json`;
  handOut(URL.createObjectURL(new Blob([JSON.stringify(work, null, 1)], { type: "application/json" })), name);
  noteSaved();
  byId(sayAt).textContent = `My work: handed to the browser as “${name}”. Drop it here with its recordings to go on.`;
}
byId("keep-work").addEventListener("click", () => keepWork("export-state"));
byId("keep-work-here").addEventListener("click", () => keepWork("outcome-state"));

// Takes saved work.
function takeUpWork(name, work) {
  if (work.version !== WORK.version || !Array.isArray(work.recordings) || typeof (work.fields ?? 0) !== "object") {
    return tellTrouble({ what: `“${name}” was kept by another version of this page.`, hint: "Keep the work anew with this version." });
  }
  waitingWork = { ...work, file: name, back: false, holds: true };
  bringBack();
}

const ofWork = ({ sha256 }) => files.find((file) => file.sha256 === sha256 && file.state === "ready");
const missingOfWork = () => waitingWork?.recordings.filter((one) => !one.placed && !ofWork(one)) ?? [];
const areOwn = ({ role }) => role === "mix" || role === "reference"; // what the moves were made for
const isHeld = () => Boolean(waitingWork?.holds) && !waitingWork.back;

// Restores saved work: its moves once its mix and references are here, the recordings of other jobs
// as they come.
function bringBack() {
  if (!waitingWork) return;
  const { recordings, fields, sets, back, no_mix_yet = false } = waitingWork, missing = missingOfWork();
  waitingWork.back ||= !missing.some(areOwn);
  const comes = waitingWork.back && !back;
  if (comes) {
    const filled = ["mix", "reference", ...recordings.map(({ role }) => role)], known = recordings.map(ofWork);
    for (const file of files) if (filled.includes(file.role) && !known.includes(file) && !isBusy(file)) setRole(file, "none"); // those on their way may be of the work
  }
  for (const one of recordings) {
    const file = ofWork(one), { role, group = "", place = "" } = one;
    if (!file || one.placed || (areOwn(one) && !comes)) continue;
    one.placed = true;
    if (file.role !== role) setRole(file, role);
    if (role === "track") placeTrack(file, { group: String(group), place: String(place) });
  }
  if (comes) {
    startAnew();
    takeSum(Boolean(no_mix_yet));
    app.fields = Object.fromEntries(Object.keys(USUAL).map((name) => [name, fields[name] ?? USUAL[name]]));
    keptSets = Array.isArray(sets) ? sets.slice(0, MOST_KEPT).filter(({ moves }) => Array.isArray(moves)) : [];
    tellTrouble(null);
    noteSaved();
  }
  if (missing.length === 0) waitingWork = null;
  showFiles();
  refresh();
}

// Says which recordings of the saved work are missing in the view.
function showMissingWork() {
  const names = missingOfWork().filter(({ role }) => rolesHere().includes(role)).map(({ name }) => `“${name}”`);
  byId("work-missing").hidden = names.length === 0;
  byId("work-words").textContent = names.length === 0 ? "" : `“${waitingWork.file}” needs ${names.join(", ")}: drop ${names.length > 1 ? "them" : "it"} here${waitingWork.back ? "." : ", and the moves come back."}`;
}
byId("work-leave").addEventListener("click", () => {
  waitingWork = null;
  showFiles();
  refresh();
});

// The tab's own storage, by the address of this server.
addEventListener("pagehide", () => {
  const { mix, references, after, fields, past, future, saved } = app;
  const left = { mix, references, after, fields, past, future, saved, keptSets, waitingWork, sum: byId("tracks-sum").checked };
  for (const all of [left, { ...left, past: [], future: [] }]) {
    try {
      return sessionStorage.setItem(location.pathname, JSON.stringify(all));
    } catch { // too many steps for it, or there is none
    }
  }
});

// Takes up what the tab held before a reload; reports whether it was about the same recordings.
function takeUpTab() {
  try {
    const { keptSets: sets, waitingWork: work, sum, ...left } = JSON.parse(sessionStorage.getItem(location.pathname));
    waitingWork = work;
    takeSum(sum);
    if (left.mix !== app.mix || String(left.references) !== String(app.references)) return false;
    Object.assign(app, left);
    keptSets = sets;
    return true;
  } catch { // there is nothing
    return false;
  }
}

// Moves set by hand and not exported would be lost: the browser asks.
const noteSaved = () => (app.saved = JSON.stringify(app.fields.dialled));
addEventListener("beforeunload", (event) => {
  if (app.fields.dialled?.some(({ hand }) => hand) && app.saved !== JSON.stringify(app.fields.dialled)) event.preventDefault();
});
