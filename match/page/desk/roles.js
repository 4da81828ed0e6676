// Roles: which recording is the mix and which are references, their state, and the places to drop
// them on. Roles are kept on the server, so that a reload keeps them.

// Removes a recording, whatever its state.
function removeFile(file) {
  const at = files.indexOf(file);
  if (at < 0) return;
  files.splice(at, 1);
  file.row.remove();
  if (file.state === "sending") file.cancel?.();
  if (file.id) request("DELETE", `recordings/${file.id}`).catch(tellTrouble);
  const used = file.role !== "none";
  if (file.id === app.mix) app.answer = null;
  place();
  files.forEach(showFile);
  showFiles();
  if (used) refresh();
  showOffers();
}

// Gives a recording its role, as the server does (role.go): where another is the mix or the earlier
// mix, it takes that place once it is measured, since a file that cannot be read must not.
function setRole(file, role, bounce = false) {
  const others = ["mix", "before"].includes(role) ? files.filter((other) => other !== file) : [];
  for (const other of others) if (other.next === role) other.next = "";
  if (file.state !== "ready" && others.some((other) => other.role === role && other.state !== "failed")) file.next = role;
  else giveRole(file, role);
  saveRole(file);
  place(bounce);
  files.forEach(showFile);
}

// The previous mix gets the role the new one had or, if that was none, becomes the earlier mix.
function giveRole(file, role) {
  const before = file.role;
  Object.assign(file, { role, next: "" });
  if (role !== "mix" && role !== "before") return;
  const then = role === "before" ? "none" : before === "none" ? "before" : before;
  for (const other of files) if (other !== file && other.role === role) giveRole(other, other.state === "failed" ? "none" : then);
}

// Gives a recording the role that waited for it to be measured; one that cannot be read, and a profile
// of several, gets none.
function settleRole(file) {
  if (file.next && file.profile > 1) tellTrouble({ what: `“${file.name}” is a profile of several recordings, and a mix is one.`, hint: "Drop the mix itself." });
  else if (file.next && file.state === "ready") giveRole(file, file.next);
  file.next = "";
  place();
  files.forEach(showFile);
}

const roleOrNext = (file) => file.next || file.role;

let savedRole = Promise.resolve(); // one after another, since each changes the roles of others

function saveRole(file) {
  const role = roleOrNext(file);
  if (file.id) savedRole = savedRole.then(() => files.includes(file) && request("PUT", `recordings/${file.id}/role/${role}`)).catch(tellTrouble);
}

// Sets which recordings are compared; references are used once they are measured. For a new bounce
// the settings stay, except that nothing is taken back of it yet.
function place(bounce = false) {
  const mix = files.find((file) => file.role === "mix")?.id ?? null;
  const references = files.filter((file) => file.role === "reference" && file.state === "ready").map((file) => file.id);
  const bounced = files.find((file) => file.role === "mix")?.bounce;
  if (mix && app.lastMix && mix !== app.lastMix && !bounced && !bounce) startAnew();
  else if (String(references) !== String(app.references)) forgetPart();
  if (bounced && mix !== app.mix) Object.assign(app, { after: bounced.comparison, fields: { ...app.fields, already: null } });
  Object.assign(app, { mix, references, lastMix: mix ?? app.lastMix });
}

// Describes the state of a recording.
function doing(file) {
  const percent = file.done === null ? "" : ` ${Math.round(100 * file.done)} %`;
  switch (file.state) {
    case "sending": return `is taken in${percent}`;
    case "arriving": return `is made${percent}`;
    case "waiting": return "waits for others to be measured";
    case "measuring": return `is measured${percent}`;
    case "decoding": return "is decoded by the browser, since the program cannot";
    case "failed": return `${file.trouble.problem ?? file.trouble.what}\n${file.trouble.hint}`;
  }
  const words = file.profile ? [file.profile === 1 ? "profile of a recording" : `profile of ${file.profile} recordings`] : [clock(file.duration_s)];
  const first = file.role === "reference" && readyOf("reference").find(({ sha256 }) => sha256 === file.sha256);
  if (first && first !== file) words.push(`the same recording as “${first.name}”: it counts once`);
  return [...words, ...(file.warnings ?? [])].join(" · ");
}

// Makes the row of a recording.
function addFileRow(file) {
  file.choice = make("select", { autocomplete: "off" }, ...ROLES.map(([value, words]) => new Option(words, value)));
  file.choice.setAttribute("aria-label", `What ${file.name} is`);
  file.choice.addEventListener("change", () => {
    setRole(file, file.choice.value);
    refresh();
  });
  file.bar = make("progress", { max: 1 });
  file.bar.setAttribute("aria-label", `How far ${file.name} is`);
  file.words = make("span");
  file.away = make("button", { type: "button" });
  file.away.addEventListener("click", () => (file.state === "sending" ? file.cancel() : removeFile(file)));
  file.failed = make("span", { className: "failed-word", textContent: "Not usable", hidden: true });
  file.row = make("div", { className: "file-row" }, file.choice, file.failed, make("span", { className: "name", textContent: file.name }), file.away, make("span", { className: "how" }, file.bar, file.words));
  byId("recordings").append(file.row);
}

// Shows a recording in its row.
function showFile(file) {
  if (!files.includes(file)) return;
  if (!file.row) addFileRow(file);
  const busy = isBusy(file), failed = file.state === "failed";
  file.choice.value = roleOrNext(file);
  file.choice.hidden = failed;
  file.failed.hidden = !failed;
  file.bar.hidden = !busy;
  if (file.done === null || file.state === "waiting" || file.state === "decoding") file.bar.removeAttribute("value");
  else file.bar.value = file.done;
  file.words.textContent = doing(file) + (file.next ? ` · replaces the ${ROLES.find(([role]) => role === file.next)[1]} once it is measured` : "");
  file.row.classList.toggle("failed", failed);
  file.row.classList.toggle("elsewhere", file.role !== "none" && !rolesHere().includes(file.role));
  file.away.textContent = busy ? "Cancel" : "Remove";
  file.away.setAttribute("aria-label", `${file.away.textContent}: ${file.name}`);
  showFiles();
}

// Returns the roles used in the current view.
const rolesHere = () => [...needsHere(), ...(inView().also ?? [])];

byId("show-all").addEventListener("click", () => {
  byId("recordings").classList.add("all");
  showFiles();
});

// Says what is in progress, what is missing, and, in one line, what is compared.
function showFiles() {
  const say = (id, text) => byId(id).textContent !== text && (byId(id).textContent = text);
  const still = files.filter(isBusy).length;
  say("busy", still === 0 ? "" : still === 1 ? "One recording is on its way." : `${still} recordings are on their way.`);
  const has = (wanted) => files.some(({ role, next, state }) => [role, next].includes(wanted) && state !== "failed");
  const missing = needsHere().filter((role) => !has(role)), without = view.name === "tracks" && missing.includes("mix") ? " If there is no mix yet, say so below." : "";
  say("next-step", files.length === 0 || missing.length === 0 ? "" : `Now choose ${missing.map((role) => MISSING[role]).join(" and ")}.${without}`);
  byId("demo-row").hidden = !needsHere().includes("mix") || needsHere().some((role) => role !== "mix" && role !== "reference") || files.some(({ state }) => state !== "failed");
  document.querySelector(".drop[data-role=mix]").hidden = !rolesHere().includes("mix");
  showTracks();
  showMissingWork();
  for (const box of document.querySelectorAll("[data-role]")) box.classList.toggle("filled", has(box.dataset.role));
  const elsewhere = inView().papers || byId("recordings").classList.contains("all") ? 0 : files.filter(({ row }) => row?.classList.contains("elsewhere")).length;
  byId("elsewhere").hidden = elsewhere === 0;
  byId("show-all").textContent = elsewhere === 1 ? "Show the recording of another job" : `Show ${elsewhere} recordings of other jobs`;
  const failed = files.filter(({ role, state }) => state === "failed" && ["none", ...rolesHere()].includes(role)).length;
  byId("files-summary").replaceChildren(...(inView().papers ? papersSummary() : rolesHere().flatMap(summaryOf).slice(1)));
  say("files-failed", failed === 0 ? "" : failed === 1 ? "1 file is not usable." : `${failed} files are not usable.`);
}

// What to choose if nothing has a role.
const MISSING = { mix: "the mix", reference: "a reference", class: "the mixes", print: "the prints", track: "the single tracks" };
const MOST_NAMED = 4; // recordings named in the line; for more only their number

// Returns the recordings of a role in one line, after a dot that separates them from others.
function summaryOf(role) {
  const all = readyOf(role).sort((a, b) => (role === "print" ? a.name.localeCompare(b.name, "en", { numeric: true }) : 0)), words = ROLES.find(([name]) => name === role)[1];
  if (role === "mix" && all.length === 0) all.push(...files.filter((file) => file.role === "mix"));
  if (all.length === 0) return [];
  if (all.length > MOST_NAMED) return [" · ", make("b", { textContent: `${all.length} ${COUNTED[role]}` })];
  return [" · ", `${all.length > 1 ? COUNTED[role] : words} `, ...all.flatMap((file, i) => [...(i ? [", "] : []), make("b", { textContent: file.name })])];
}
const COUNTED = { reference: "references", class: "mixes", print: "prints", track: "single tracks" };

// Shows recordings that are already on the server: after a reload, or in a second tab.
function showKnown(recordings) {
  for (const told of recordings) {
    if (fileOf(told.id)) continue;
    const file = { ...told };
    files.push(file);
    showFile(file);
    if (isBusy(file)) measure(file, null);
  }
  place();
}

// Files can be dropped anywhere: beside the places, a browser would open them instead.
const overPlace = (event) => event.target.closest?.("[data-role]");
function showOver(place) {
  for (const box of document.querySelectorAll("[data-role]")) box.classList.toggle("over", box === place);
}
for (const kind of ["dragenter", "dragover"]) {
  document.addEventListener(kind, (event) => {
    event.preventDefault();
    if (byId("files-body").hidden) openFiles(true);
    showOver(overPlace(event));
  });
}
document.addEventListener("dragleave", (event) => {
  if (!event.relatedTarget) showOver(null);
});
document.addEventListener("drop", (event) => {
  event.preventDefault();
  showOver(null);
  const role = overPlace(event)?.dataset.role, list = [...event.dataTransfer.files];
  if (role === "mix") {
    takeIn(list.slice(0, 1), "mix");
    takeIn(list.slice(1), "reference");
  } else if (role === "before") {
    takeIn(list.slice(0, 1), role);
  } else takeIn(list, role);
});

// Binds a field for files; it can be used again for the same file.
function onChosen(id, take) {
  byId(id).addEventListener("change", () => {
    take([...byId(id).files]);
    byId(id).value = "";
  });
}
onChosen("choose-mix", (list) => takeIn(list.slice(0, 1), "mix"));
onChosen("choose-references", (list) => takeIn(list, "reference"));
onChosen("choose-before", (list) => takeIn(list.slice(0, 1), "before"));
onChosen("choose-tracks", (list) => takeIn(list, "track"));
onChosen("choose-prints", (list) => takeIn(list, "print"));
onChosen("choose-class", (list) => takeIn(list, "class"));

// A new bounce replaces the mix. The settings stay, and the dialled moves are kept, to be offered
// as those the bounce runs through.
onChosen("choose-bounce", ([sound]) => {
  if (!sound || !app.answer) return;
  const before = { comparison: app.answer.comparison, settings: app.answer.settings, distance: app.answer.distance_before_db, predicted: app.answer.distance_after_db };
  const file = newFile(sound.name, { bounce: before });
  setRole(file, "mix", true);
  openFiles(true);
  send(file, sound, sound.name, "");
  showOffers();
});
byId("already-on").addEventListener("change", () => {
  const bounce = files.find((file) => file.role === "mix")?.bounce;
  change({ already: byId("already-on").checked ? bounce?.settings ?? null : null, dialled: null });
});

byId("demo").addEventListener("click", async () => {
  byId("demo").disabled = true;
  try {
    const { ids } = await request("POST", "demo");
    const { recordings } = await request("GET", "history");
    for (const file of files) Object.assign(file, { role: "none", next: "" });
    startAnew();
    if (waitingWork) waitingWork.holds = false;
    showKnown(recordings.filter(({ id }) => ids.includes(id)));
    files.forEach(showFile);
    refresh();
  } catch (trouble) {
    tellTrouble(trouble);
  }
  byId("demo").disabled = false;
});

// Shows the offers for a mix, and how a new bounce compares with the previous one.
function showOffers() {
  const mix = files.find((file) => file.role === "mix"), bounce = mix?.bounce;
  byId("bounce").hidden = view.name !== "match" || !app.answer || mix?.state !== "ready";
  // After a reload the previous bounce is unknown, but undoing its moves can still be switched off.
  byId("already").hidden = mix?.state !== "ready" || !(bounce?.settings.moves.length > 0 || app.fields.already);
  byId("already-on").checked = Boolean(app.fields.already);
  byId("before-after").textContent = "";
  if (bounce && app.answer && app.answer.words.recordings[0].file === mix.name) {
    const now = app.answer.as_bounced_db ?? app.answer.distance_before_db;
    byId("before-after").textContent = `Distance of the bounce before: ${inDB(bounce.distance)}; of this one: ${inDB(now)}. With the moves ${inDB(bounce.predicted)} were predicted.`;
  }
}
