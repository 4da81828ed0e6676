// Upload: recordings are dropped or chosen, sent and measured.

const POLL_MS = 150;
// The browser decodes at this rate, which loses nothing below 20 kHz.
const DECODED_HZ = 48000;
// Largest file decoded by the browser, since the sound is in memory as a whole.
const MOST_DECODED_BYTES = 500e6;

const files = []; // { id, name, number, role, next, state, done, trouble, cancel, row, … and the server's fields }

const fileOf = (id) => files.find((file) => file.id === id);
const mixReady = () => fileOf(app.mix)?.state === "ready";
const isBusy = ({ state }) => !["ready", "failed"].includes(state);

// Takes files for a role. Without a role the first is the mix if there is none. Documents are
// recognised by their content.
async function takeIn(list, role) {
  for (const sound of list) {
    const is = /\.json$/i.test(sound.name) ? await takeDocument(sound) : "sound";
    if (is === "taken") continue;
    if (/\.csv$/i.test(sound.name) && (inView().papers || papersOf("answers").length > 0)) {
      await takePaper("sheets", sound);
      continue;
    }
    const file = newFile(sound.name);
    setRole(file, role ?? (is === "profile" ? "reference" : roleOf()));
    send(file, sound, sound.name, "");
  }
}

// Adds a file to come, after all others.
function newFile(name, more = {}) {
  const file = { id: null, name, number: 1 + Math.max(0, ...files.map(({ number }) => number)), role: "none", next: "", state: "sending", done: 0, trouble: null, ...more };
  files.push(file);
  return file;
}

// Returns the role of a file dropped beside the places: the mix if one is needed, else the view's.
const roleOf = () => (needsHere().includes("mix") && !files.some((other) => roleOrNext(other) === "mix" && other.state !== "failed") ? "mix" : inView().drops ?? "reference");

// Sends the bytes and follows the measuring.
function send(file, body, name, more) {
  const sending = new XMLHttpRequest(), sent = roleOrNext(file);
  Object.assign(file, { state: "sending", done: 0, cancel: () => sending.abort() });
  sending.upload.addEventListener("progress", ({ loaded, total }) => {
    file.done = total ? loaded / total : null;
    showFile(file);
  });
  const lost = () => failFile(file, { problem: "did not arrive whole", hint: "Drop it again." });
  sending.addEventListener("load", () => {
    let answer = null;
    try {
      answer = JSON.parse(sending.responseText);
    } catch {
      return lost();
    }
    if (sending.status === NOT_LET_IN) loseServer();
    if (sending.status !== 201) return failFile(file, answer);
    file.id = answer.id;
    if (roleOrNext(file) !== sent) saveRole(file);
    place();
    measure(file, more ? null : body);
  });
  sending.addEventListener("error", lost);
  sending.addEventListener("abort", () => removeFile(file));
  sending.open("POST", `recordings?name=${encodeURIComponent(name)}&role=${sent}&number=${file.number}${more}`);
  sending.send(body);
  showFile(file);
}

// Polls the progress of measuring until it ends. body is the file, for the browser to decode if the
// server cannot.
async function measure(file, body) {
  file.cancel = () => removeFile(file);
  for (;;) {
    let told;
    try {
      told = await request("GET", `recordings/${file.id}`);
    } catch (trouble) {
      if (!files.includes(file)) return;
      if (!trouble.lost) return failFile(file, trouble);
      await new Promise((done) => setTimeout(done, ALIVE_MS));
      continue;
    }
    if (!files.includes(file)) return;
    Object.assign(file, told, { role: file.role, next: file.next });
    if (told.state === "failed" && told.trouble.browser_may && body && body.size < MOST_DECODED_BYTES && (await decodeHere(file, body))) return;
    if (!isBusy(file)) break;
    showFile(file);
    await new Promise((done) => setTimeout(done, POLL_MS));
  }
  settleRole(file);
  bringBack();
  if (file.role !== "none") refresh();
}

// Lets the browser decode what the server cannot, and sends the result. Reports whether it could.
async function decodeHere(file, body) {
  file.state = "decoding";
  showFile(file);
  let wav;
  try {
    wav = floatWAV(await new OfflineAudioContext(2, 1, DECODED_HZ).decodeAudioData(await body.arrayBuffer()));
  } catch { // or out of memory
    file.state = "failed";
    return false;
  }
  if (!files.includes(file)) return true;
  request("DELETE", `recordings/${file.id}`).catch(() => {});
  file.id = null;
  send(file, wav, file.name, `&decoded_hz=${DECODED_HZ}`);
  return true;
}

// Returns a WAV file of 32-bit floats: format 3 of RIFF/WAVE (Microsoft, Multimedia Programming
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
  settleRole(file);
  if (file.role !== "none") refresh();
}

