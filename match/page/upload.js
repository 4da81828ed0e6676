// Arrive: recordings come by dropping or choosing, are sent, measured and listed, and
// get their part: mix, reference, or none.

const POLL_MS = 150;
// The browser decodes at a rate of its own choosing; this one loses nothing below 20 kHz.
const DECODED_HZ = 48000;
// What is decoded here stands in memory whole.
const MOST_DECODED_BYTES = 500e6;

const files = []; // { id, name, part, state, done, trouble, cancel, row, … as the server tells }

const fileOf = (id) => files.find((file) => file.id === id);
const mixReady = () => fileOf(app.mix)?.state === "ready";

// Takes in files: the first is the mix if there is none and none was meant to be a reference.
function arrive(list, part) {
  for (const sound of list) {
    const as = part ?? (files.some((file) => file.part === "mix") ? "reference" : "mix");
    const file = { id: null, name: sound.name, part: "none", state: "sending", done: 0, trouble: null };
    files.push(file);
    setPart(file, as);
    send(file, sound, sound.name, "");
  }
}

// Sends the bytes and follows the measuring.
function send(file, body, name, more) {
  const sending = new XMLHttpRequest();
  Object.assign(file, { state: "sending", done: 0, cancel: () => sending.abort() });
  sending.upload.addEventListener("progress", ({ loaded, total }) => {
    file.done = total ? loaded / total : null;
    showFile(file);
  });
  const lost = () => failFile(file, { what: `“${file.name}” did not arrive whole.`, hint: "Drop it again." });
  sending.addEventListener("load", () => {
    let answer = null;
    try {
      answer = JSON.parse(sending.responseText);
    } catch {
      return lost();
    }
    if (sending.status !== 201) return failFile(file, answer);
    file.id = answer.id;
    place();
    measure(file, more ? null : body);
  });
  sending.addEventListener("error", lost);
  sending.addEventListener("abort", () => removeFile(file));
  sending.open("POST", `recordings?name=${encodeURIComponent(name)}${more}`);
  sending.send(body);
  showFile(file);
}

// Asks how far the measuring is until it is done; body is what the browser may decode
// itself where the server cannot.
async function measure(file, body) {
  file.cancel = () => removeFile(file);
  for (;;) {
    let told;
    try {
      told = await request("GET", `recordings/${file.id}`);
    } catch (trouble) {
      if (files.includes(file)) failFile(file, trouble);
      return;
    }
    if (!files.includes(file)) return;
    Object.assign(file, told, { part: file.part });
    if (told.state === "failed" && told.trouble.browser_may && body && body.size < MOST_DECODED_BYTES && (await decodeHere(file, body))) return;
    showFile(file);
    if (told.state === "ready" || told.state === "failed") break;
    await new Promise((done) => setTimeout(done, POLL_MS));
  }
  if (file.part === "none") return;
  place();
  refresh();
}

// Lets the browser decode what the server cannot, and sends that. Tells whether it could.
async function decodeHere(file, body) {
  file.state = "decoding";
  showFile(file);
  let wav;
  try {
    wav = floatWAV(await new OfflineAudioContext(2, 1, DECODED_HZ).decodeAudioData(await body.arrayBuffer()));
  } catch { // or it is too long for the memory
    file.state = "failed";
    return false;
  }
  if (!files.includes(file)) return true;
  request("DELETE", `recordings/${file.id}`).catch(() => {});
  file.id = null;
  send(file, wav, file.name, `&decoded_hz=${DECODED_HZ}`);
  return true;
}

// A WAV file of 32-bit floats: format 3 of RIFF/WAVE (Microsoft, Multimedia Programming
// Interface, 1991, and its revision of 1994).
function floatWAV(sound) {
  const { numberOfChannels: channels, length, sampleRate } = sound;
  const bytes = 4 * channels * length, header = new DataView(new ArrayBuffer(58));
  const text = (at, letters) => [...letters].forEach((c, i) => header.setUint8(at + i, c.charCodeAt(0)));
  const numbers = (at, ...pairs) => pairs.forEach(([size, value]) => (size === 2 ? header.setUint16(at, value, true) : header.setUint32(at, value, true), (at += size)));
  text(0, "RIFF");
  numbers(4, [4, 50 + bytes]);
  text(8, "WAVEfmt ");
  numbers(16, [4, 18], [2, 3], [2, channels], [4, sampleRate], [4, 4 * channels * sampleRate], [2, 4 * channels], [2, 32], [2, 0]);
  text(38, "fact");
  numbers(42, [4, 4], [4, length]);
  text(50, "data");
  numbers(54, [4, bytes]);
  const x = new Float32Array(channels * length);
  for (let c = 0; c < channels; c++) {
    const channel = sound.getChannelData(c);
    for (let i = 0; i < length; i++) x[i * channels + c] = channel[i];
  }
  return new Blob([header, x]);
}

function failFile(file, trouble) {
  Object.assign(file, { state: "failed", trouble });
  showFile(file);
}

// Takes a recording away, whatever it is doing.
function removeFile(file) {
  const at = files.indexOf(file);
  if (at < 0) return;
  files.splice(at, 1);
  file.row.remove();
  if (file.state === "sending") file.cancel?.();
  if (file.id) request("DELETE", `recordings/${file.id}`).catch(tellTrouble);
  const used = file.part !== "none";
  if (file.id === app.mix) app.answer = null;
  place();
  if (used) refresh();
  showOffers();
}

// Gives a recording its part; there is one mix.
function setPart(file, part, bounce = false) {
  if (part === "mix") {
    for (const other of files) if (other !== file && other.part === "mix") other.part = "none";
  }
  file.part = part;
  place(bounce);
  files.forEach(showFile);
}

// Tells the app which recordings are compared: references count once they are measured.
// Of a new bounce the settings stay.
function place(bounce = false) {
  const mix = files.find((file) => file.part === "mix")?.id ?? null;
  const references = files.filter((file) => file.part === "reference" && file.state === "ready").map((file) => file.id);
  const bounced = files.find((file) => file.part === "mix")?.bounce;
  if (mix !== app.mix && app.mix && mix && !bounced && !bounce) startAnew();
  else if (String(references) !== String(app.references)) forgetPart();
  Object.assign(app, { mix, references });
}

// Says in words what a recording is doing.
function doing(file) {
  const percent = file.done === null ? "" : ` ${Math.round(100 * file.done)} %`;
  switch (file.state) {
    case "sending": return `is taken in${percent}`;
    case "arriving": return `is made${percent}`;
    case "waiting": return "waits for others to be measured";
    case "measuring": return `is measured${percent}`;
    case "decoding": return "is decoded by the browser, since the program cannot";
    case "failed": return `${file.trouble.what}\n${file.trouble.hint}`;
  }
  const words = file.profile ? [file.profile === 1 ? "profile of a recording" : `profile of ${file.profile} recordings`] : [clock(file.duration_s)];
  return [...words, ...(file.warnings ?? [])].join(" · ");
}

// Shows a recording in its row.
function showFile(file) {
  if (!files.includes(file)) return;
  if (!file.row) {
    file.choice = make("select", { autocomplete: "off" }, ...[["mix", "mix"], ["reference", "reference"], ["none", "not used"]].map(([value, words]) => new Option(words, value)));
    file.choice.setAttribute("aria-label", `What ${file.name} is`);
    file.choice.addEventListener("change", () => {
      setPart(file, file.choice.value);
      refresh();
    });
    file.bar = make("progress", { max: 1 });
    file.bar.setAttribute("aria-label", `How far ${file.name} is`);
    file.words = make("span");
    file.away = make("button", { type: "button" });
    file.away.addEventListener("click", () => (file.state === "sending" ? file.cancel() : removeFile(file)));
    file.row = make("div", { className: "file-row" }, file.choice, make("span", { className: "name", textContent: file.name }), file.away, make("span", { className: "how" }, file.bar, file.words));
    byId("recordings").append(file.row);
  }
  const busy = !["ready", "failed"].includes(file.state);
  file.choice.value = file.part;
  file.bar.hidden = !busy;
  if (file.done === null || file.state === "waiting" || file.state === "decoding") file.bar.removeAttribute("value");
  else file.bar.value = file.done;
  file.words.textContent = doing(file);
  file.row.classList.toggle("failed", file.state === "failed");
  file.away.textContent = busy ? "Cancel" : "Remove";
  file.away.setAttribute("aria-label", `${file.away.textContent}: ${file.name}`);
  const still = files.filter(({ state }) => !["ready", "failed"].includes(state)).length;
  const told = still === 0 ? "" : still === 1 ? "One recording is on its way." : `${still} recordings are on their way.`;
  if (byId("busy").textContent !== told) byId("busy").textContent = told;
}

// Shows recordings that are on the server already: after a reload, or in a second tab.
function showKnown(recordings, ask) {
  for (const told of recordings) {
    if (fileOf(told.id)) continue;
    const file = { ...told, part: told.id === ask?.mix ? "mix" : ask?.references.includes(told.id) ? "reference" : "none" };
    files.push(file);
    showFile(file);
    if (!["ready", "failed"].includes(file.state)) measure(file, null);
  }
  place();
}

const drop = byId("drop");
// A whole page to drop on: what misses the frame would leave the page for the file.
for (const kind of ["dragenter", "dragover"]) {
  document.addEventListener(kind, (event) => {
    event.preventDefault();
    drop.classList.add("over");
  });
}
document.addEventListener("dragleave", (event) => {
  if (!event.relatedTarget) drop.classList.remove("over");
});
document.addEventListener("drop", (event) => {
  event.preventDefault();
  drop.classList.remove("over");
  arrive(event.dataTransfer.files);
});

// Lets a field for files be used, and again for the same file.
function onChosen(id, take) {
  byId(id).addEventListener("change", () => {
    take([...byId(id).files]);
    byId(id).value = "";
  });
}
onChosen("choose-mix", (list) => arrive(list.slice(0, 1), "mix"));
onChosen("choose-references", (list) => arrive(list, "reference"));

// A new bounce takes the mix's place; the settings stay, and what was dialled is kept to
// be offered as what the bounce runs through.
onChosen("choose-bounce", ([sound]) => {
  if (!sound || !app.answer) return;
  const before = { comparison: app.answer.comparison, settings: app.answer.settings, distance: app.answer.distance_before_db, predicted: app.answer.distance_after_db };
  const file = { id: null, name: sound.name, part: "none", state: "sending", done: 0, trouble: null, bounce: before };
  files.push(file);
  app.after = before.comparison;
  app.fields = { ...app.fields, already: null };
  setPart(file, "mix", true);
  send(file, sound, sound.name, "");
  showOffers();
});
byId("already-on").addEventListener("change", () => {
  const bounce = files.find((file) => file.part === "mix")?.bounce;
  change({ already: byId("already-on").checked ? bounce?.settings ?? null : null, dialled: null });
});

byId("demo").addEventListener("click", async () => {
  byId("demo").disabled = true;
  try {
    const { ids } = await request("POST", "demo");
    const { recordings } = await request("GET", "history");
    for (const file of files) if (file.part !== "none") file.part = "none";
    startAnew();
    showKnown(recordings.filter(({ id }) => ids.includes(id)), { mix: ids[0], references: [ids[1]] });
    files.forEach(showFile);
  } catch (trouble) {
    tellTrouble(trouble);
  }
  byId("demo").disabled = false;
});

// Shows what is offered for a mix, and how a new bounce compares with the one before.
function showOffers() {
  const mix = files.find((file) => file.part === "mix"), bounce = mix?.bounce;
  byId("bounce").hidden = !app.answer || mix?.state !== "ready";
  // After a reload the bounce before is not known, but what is taken back can still be left.
  byId("already").hidden = mix?.state !== "ready" || !(bounce?.settings.moves.length > 0 || app.fields.already);
  byId("already-on").checked = Boolean(app.fields.already);
  byId("before-after").textContent = "";
  if (bounce && app.answer && app.answer.words.recordings[0].file === mix.name) {
    const now = app.answer.as_bounced_db ?? app.answer.distance_before_db;
    byId("before-after").textContent = `Distance of the bounce before: ${inDB(bounce.distance)}; of this one: ${inDB(now)}. With the moves ${inDB(bounce.predicted)} were predicted.`;
  }
}
