// Strip: the level of the excerpts over time, and the loop.

// The shortest loop in seconds, and the range of the strip in LU relative to the loudness.
const LEAST_PART_S = 0.5;
const STRIP_TOP_LU = 6;
const STRIP_BOTTOM_LU = -24;

const WIDE = 1000, HIGH = 100; // of the strip's own units

function svgElement(name, attributes) {
  const element = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  return element;
}

// Returns mean powers over 400 ms, the blocks of loudness measurement, of a course per 100 ms.
function smoothedCourse(course) {
  return course.map((_, i) => {
    let sum = 0, n = 0;
    for (let k = Math.max(0, i - 1); k < Math.min(course.length, i + 3); k++, n++) {
      if (course[k] !== null) sum += 10 ** (course[k] / 10);
    }
    return 10 * Math.log10(sum / n);
  });
}

// Draws the courses of the sources that have one: the first full, others dashed.
function drawStrip(strip, key, player) {
  strip.replaceChildren(svgElement("rect", { class: "part", y: 0, height: HIGH }));
  const names = [];
  player.sources.filter((source) => source.course_lu && !source.through_moves).forEach((source, i) => {
    const points = smoothedCourse(source.course_lu).map((lu, k) => {
      const x = ((k + 0.5) / (10 * player.seconds)) * WIDE;
      const y = ((STRIP_TOP_LU - Math.max(lu, STRIP_BOTTOM_LU)) / (STRIP_TOP_LU - STRIP_BOTTOM_LU)) * HIGH;
      return `${x.toFixed(1)},${y.toFixed(1)}`;
    });
    strip.append(svgElement("polyline", { class: i === 0 ? "course" : "course other", points: points.join(" ") }));
    names.push(`${source.name} (${i === 0 ? "full line" : "dashed"}, from ${clock(source.from_s)} of the recording)`);
  });
  strip.append(svgElement("line", { class: "at", x1: 0, x2: 0, y1: 0, y2: HIGH }));
  key.textContent = `Level over ${player.seconds.toFixed(1)} s: ${names.join(", ")}. Drag along the strip for a loop, click for a position, or move its two edges.`;
}

// Returns a time as text, with tenths if it has any: "1:23", "0:07.5".
const timeText = (s) => `${Math.floor(s / 60)}:${String(Math.floor(s % 60)).padStart(2, "0")}${s % 1 ? (s % 1).toFixed(1).slice(1) : ""}`;

// Writes about six times under a strip.
function drawAxis(axis, fromS, seconds) {
  const every = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600].find((s) => seconds / s <= 7) ?? 1800;
  const marks = [];
  for (let s = Math.ceil(fromS / every) * every; s <= fromS + seconds; s += every) marks.push(s);
  axis.replaceChildren(...marks.map((s) => {
    const mark = document.createElement("span");
    mark.textContent = timeText(s);
    const at = (s - fromS) / seconds;
    mark.style.left = `${at * 100}%`; // set by script, which the policy allows
    if (at < 0.03 || at > 0.97) mark.style.transform = at < 0.5 ? "none" : "translateX(-100%)";
    return mark;
  }));
}

function clock(seconds) {
  const whole = Math.floor(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}

// Shows the loop on the strip.
function showPart(strip, seconds, { from, to }) {
  const part = strip.querySelector(".part");
  part.setAttribute("x", (from / seconds) * WIDE);
  part.setAttribute("width", ((to - from) / seconds) * WIDE);
}

function showPosition(strip, seconds, at) {
  const line = strip.querySelector(".at");
  line.setAttribute("x1", (at / seconds) * WIDE);
  line.setAttribute("x2", (at / seconds) * WIDE);
}

// Clamps a loop to the excerpt; an end that is no number becomes the excerpt's own.
function validPart(seconds, from, to) {
  const inside = (x, other) => (Number.isFinite(x) ? Math.min(Math.max(x, 0), seconds) : other);
  const least = Math.min(LEAST_PART_S, seconds);
  const first = Math.min(inside(from, 0), seconds - least);
  return { from: first, to: Math.max(inside(to, seconds), first + least) };
}

// Lets the pointer be dragged along a strip of seconds(). moved is called with the part while it is
// dragged; done with the part and the end.
function dragAlong(strip, seconds, moved, done) {
  let anchor = null;
  const secondsAt = (event) => {
    const box = strip.getBoundingClientRect();
    return Math.min(Math.max((event.clientX - box.left) / box.width, 0), 1) * seconds();
  };
  const partTo = (at) => ({ from: Math.min(at, anchor), to: Math.max(at, anchor) });
  strip.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    anchor = secondsAt(event);
    strip.setPointerCapture(event.pointerId);
  });
  strip.addEventListener("pointermove", (event) => anchor !== null && moved(partTo(secondsAt(event))));
  strip.addEventListener("pointerup", (event) => {
    if (anchor === null) return;
    const at = secondsAt(event), part = partTo(at);
    anchor = null;
    done(part, at);
  });
  strip.addEventListener("pointercancel", () => (anchor = null));
}

// Lets a loop be chosen on the strip, by its edges and in the fields. changed is called with the
// loop when it is settled, seek with a position. The returned object shows a loop, and takes another
// length.
function connectPart(elements, seconds, changed, seek) {
  const { strip, edgeFrom, edgeTo, from, to, whole } = elements;
  const setLength = (length) => {
    seconds = length;
    for (const input of [edgeFrom, edgeTo, from, to]) input.max = seconds;
  };
  const show = (part) => {
    edgeFrom.value = part.from;
    edgeTo.value = part.to;
    from.value = part.from.toFixed(1);
    to.value = part.to.toFixed(1);
    edgeFrom.setAttribute("aria-valuetext", `${part.from.toFixed(1)} seconds`);
    edgeTo.setAttribute("aria-valuetext", `${part.to.toFixed(1)} seconds`);
    showPart(strip, seconds, part);
  };
  const settle = (a, b) => {
    const part = validPart(seconds, a, b);
    show(part);
    changed(part);
  };
  const edges = (settled) => {
    const a = Number(edgeFrom.value), b = Number(edgeTo.value);
    if (settled) settle(Math.min(a, b), Math.max(a, b));
    else showPart(strip, seconds, { from: Math.min(a, b), to: Math.max(a, b) });
  };
  for (const edge of [edgeFrom, edgeTo]) {
    edge.addEventListener("input", () => edges(false));
    edge.addEventListener("change", () => edges(true));
  }
  for (const field of [from, to]) {
    field.addEventListener("change", () => settle(readTime(from.value), readTime(to.value)));
  }
  whole.addEventListener("click", () => settle(0, seconds));

  const long = ({ from, to }) => to - from >= LEAST_PART_S;
  dragAlong(strip, () => seconds, (part) => long(part) && showPart(strip, seconds, part), (part, at) => (long(part) ? settle(part.from, part.to) : seek(at)));
  setLength(seconds);
  show({ from: 0, to: seconds });
  return { show, setLength };
}
