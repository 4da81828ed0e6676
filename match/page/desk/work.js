// Work: on request the work is saved as one file, and restored when that is dropped again: the
// fields, the sets, the roles of recordings and what is said about tracks, but not the sound.

const WORK = { version: 1, kind: "toneplumb work" };

let waitingWork = null; // dropped work that waits for its recordings

const recordingOfWork = ({ name, sha256, role, group, place }) => ({ name, sha256, role, group, place });

// Hands out the work, and says so at an element.
function keepWork(sayAt) {
  const work = { ...WORK, recordings: files.filter(({ role, state }) => role !== "none" && state === "ready").map(recordingOfWork), fields: app.fields, sets: keptSets, no_mix_yet: byId("tracks-sum").checked };
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
  if (work.version !== WORK.version || !Array.isArray(work.recordings) || typeof work.fields !== "object") {
    return tellTrouble({ what: `“${name}” was kept by another version of this page.`, hint: "Keep the work anew with this version." });
  }
  waitingWork = work;
  bringBack();
}

// Restores saved work once all its recordings are here, and says which are missing.
function bringBack() {
  if (!waitingWork) return;
  const found = waitingWork.recordings.map(({ sha256 }) => files.find((file) => file.sha256 === sha256 && file.state === "ready"));
  const missing = waitingWork.recordings.filter((_, i) => !found[i]);
  if (missing.length > 0) {
    tellTrouble({ what: "The work is read; its recordings are not all here yet.", hint: `Drop ${missing.map(({ name }) => `“${String(name)}”`).join(", ")}.` });
    return;
  }
  const { fields, sets, recordings, no_mix_yet = false } = waitingWork;
  waitingWork = null;
  for (const file of files) if (!found.includes(file) && file.role !== "none") setRole(file, "none");
  found.forEach((file, i) => {
    const { role, group = "", place = "" } = recordings[i];
    if (file.role !== role) setRole(file, role);
    if (role === "track") placeTrack(file, { group: String(group), place: String(place) });
  });
  startAnew();
  takeSum(Boolean(no_mix_yet));
  app.fields = Object.fromEntries(Object.keys(USUAL).map((name) => [name, fields[name] ?? USUAL[name]]));
  keptSets = Array.isArray(sets) ? sets.slice(0, MOST_KEPT).filter(({ moves }) => Array.isArray(moves)) : [];
  tellTrouble(null);
  noteSaved();
  refresh();
}

// Moves set by hand and not exported would be lost: the browser asks.
const noteSaved = () => (app.saved = JSON.stringify(app.fields.dialled));
addEventListener("beforeunload", (event) => {
  if (app.fields.dialled?.some(({ hand }) => hand) && app.saved !== JSON.stringify(app.fields.dialled)) event.preventDefault();
});
