// Volume: its field and its ramp, the same on every page that plays.

const START_DB = -20; // volume at the start
const VOLUME_RAMP_S = 0.03;
// Delay before a sound starts: longer than the fade before it.
const AHEAD_S = 0.05;

const signed = (db, digits) => (db < 0 ? "−" : "") + Math.abs(db).toFixed(digits);

// Binds the field of the volume. set is called with decibels.
function bindVolume(set) {
  const field = document.getElementById("volume");
  field.value = START_DB;
  field.addEventListener("input", () => {
    const db = Number(field.value);
    set(db);
    document.getElementById("volume-db").textContent = `${signed(db, 0)} dB`;
  });
}

// Moves a gain node to a volume in dB.
const rampVolume = (node, db) => node.gain.setTargetAtTime(gainOfDB(db), node.context.currentTime, VOLUME_RAMP_S);
