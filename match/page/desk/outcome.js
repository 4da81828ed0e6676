// Outcome: shows the result of a task: a sentence, a picture, tables and text, and files to
// download. It is the same for every view.

const SHAPE = 0.62; // height over width of a picture
const LEAST_WIDE_PX = 300, GAP_PX = 16; // smallest width of a picture, and what is between two: views.css
const AXIS_PX = 40; // of a picture's height for its axis and zones
const HIGH_PX = [260, 560]; // smallest and largest height of a picture
const PANEL_PX = [110, 170]; // but this per panel, the less of it the less room the window has
const AROUND_PX = 260; // of the window for what is above and below: files, headline, read-out, player

const HOW_TO_READ = "Point at the picture, or use the arrow keys in it, to read values.";

const outcome = { shown: null, size: "" }; // id of the task shown, and the picture's size

function showOutcome() {
  const told = viewReady() ? view.asked[view.name]?.told : undefined, found = told?.outcome;
  const busy = told?.state === "waiting" || told?.state === "working";
  byId("task").hidden = !busy;
  if (busy) {
    if (told.done === null) byId("task-done").removeAttribute("value");
    else byId("task-done").value = told.done;
  }
  byId("task-trouble").hidden = !told?.trouble;
  byId("task-trouble").textContent = told?.trouble ? `${told.trouble.what}\n${told.trouble.hint}` : "";
  byId("outcome").hidden = !found || Boolean(told.trouble);
  byId("outcome").classList.toggle("waiting", busy);
  foldFor(Boolean(found));
  if (!found || told.trouble) silence();
  if (!found) return (outcome.shown = null);
  if (outcome.shown === told.id) return;
  Object.assign(outcome, { shown: told.id, size: "" });
  byId("outcome-headline").textContent = found.headline;
  byId("outcome-first").replaceChildren(...found.blocks.slice(0, 1).map(blockOf));
  byId("outcome-more").replaceChildren(...found.blocks.slice(1).map(blockOf));
  byId("outcome-files").replaceChildren(...found.files.map((file) => fileButton(told.id, file)));
  byId("outcome-state").textContent = "";
  byId("take-equaliser").hidden = !found.equaliser;
  byId("use-together").hidden = !found.together;
  byId("outcome").classList.toggle("pictured", Boolean(found.in_words));
  showPictures();
  byId("moves").hidden = true; // those of the player that comes
  if (found.plays) hearOutcome(told.id);
  else silence();
}

// Returns what hands out a file of a task.
function fileButton(id, { name, form, slow }) {
  const address = `tasks/${id}/files/${encodeURIComponent(name)}`;
  if (!slow) return make("a", { className: "button", href: address, download: name, textContent: form });
  const button = make("button", { type: "button", textContent: form, className: "button" });
  button.addEventListener("click", () => makeFile(button, "outcome-state", address));
  return button;
}

// Gives the player what a task's outcome sounds like.
async function hearOutcome(id) {
  try {
    const { player, notes } = await request("GET", `tasks/${id}/player`);
    if (outcome.shown === id && view.asked[view.name]?.told.id === id) takePlayer(player, notes);
  } catch (trouble) {
    tellTrouble(trouble);
  }
}

// Draws the pictures as wide as there is room, two beside one another where they are not too narrow.
function showPictures() {
  const box = byId("outcome-picture"), found = view.asked[view.name]?.told.outcome;
  if (!found?.in_words || byId("outcome").hidden) return box.replaceChildren();
  const { panels } = found, across = Math.min(panels.length, Math.max(Math.floor((box.clientWidth + GAP_PX) / (LEAST_WIDE_PX + GAP_PX)), 1));
  const width = Math.max(Math.floor((box.clientWidth + GAP_PX) / across) - GAP_PX, LEAST_WIDE_PX), room = innerHeight - AROUND_PX;
  const highest = Math.max(...panels), limits = [HIGH_PX[0], Math.min(Math.max(SHAPE * width, HIGH_PX[0]), HIGH_PX[1])];
  const [least, wanted] = limits.map((px, i) => Math.max(px, PANEL_PX[i] * highest)), height = Math.min(wanted, Math.max(room, least));
  if (outcome.size === `${width} ${height} ${across}`) return;
  outcome.size = `${width} ${height} ${across}`;
  box.style.setProperty("--across", across);
  box.replaceChildren(...panels.map((count, of) => {
    const size = { width, height: Math.round(AXIS_PX + ((height - AXIS_PX) * count) / highest) };
    const query = new URLSearchParams({ of, ...size }), which = panels.length > 1 ? `, picture ${of + 1} of ${panels.length}` : "";
    const on = (paper, more) => make("img", { className: `on-${paper}`, alt: found.in_words + which, ...size, src: `tasks/${outcome.shown}/picture?${query}${more}` });
    const picture = make("div", { className: "outcome-figure" }, on("light", ""), on("dark", "&dark")); // both, so that dark screens print on white
    const words = make("p", { className: "readout" });
    addReading(picture, words, of ? "" : HOW_TO_READ, which, `tasks/${outcome.shown}/reading?${query}`);
    return make("div", {}, picture, words);
  }));
}

// Adds what a picture says at each frequency, under the pointer and by the arrow keys. Until then words say the rest.
async function addReading(picture, words, rest, which, at) {
  const hair = make("span", { className: "outcome-hair", hidden: true });
  const over = make("div", { className: "outcome-over", tabIndex: 0 }, hair);
  for (const [name, value] of Object.entries({ role: "slider", "aria-label": `Values of the picture, by frequency${which}`, "aria-valuemin": 0 })) over.setAttribute(name, value);
  const read = await request("GET", at).catch(() => null);
  if (!read || !picture.isConnected) return;
  const last = read.freq_hz.length - 1, top = Math.log(read.high_hz / read.low_hz);
  let band = -1;
  const show = (next) => {
    band = next;
    hair.hidden = band < 0;
    words.textContent = band < 0 ? rest : read.words[band];
    over.setAttribute("aria-valuenow", Math.max(band, 0));
    over.setAttribute("aria-valuetext", band < 0 ? HOW_TO_READ : read.words[band]);
    if (band >= 0) hair.style.left = `${read.left_px + ((read.right_px - read.left_px) * Math.log(read.freq_hz[band] / read.low_hz)) / top}px`;
  };
  over.setAttribute("aria-valuemax", last);
  show(-1);
  const follow = (event) => {
    const x = event.clientX - over.getBoundingClientRect().left;
    show(nearestBand(read.freq_hz, read.low_hz * Math.exp((top * (x - read.left_px)) / (read.right_px - read.left_px))));
  };
  over.addEventListener("pointermove", follow);
  over.addEventListener("pointerdown", follow);
  over.addEventListener("pointerleave", () => document.activeElement !== over && show(-1));
  over.addEventListener("blur", () => show(-1));
  over.addEventListener("focus", () => band < 0 && show(nearestBand(read.freq_hz, 1000)));
  over.addEventListener("keydown", (event) => {
    const next = bandByKey(event, band, last);
    if (next !== undefined) show(next);
  });
  picture.append(over);
}
new ResizeObserver(() => requestAnimationFrame(showPictures)).observe(byId("outcome-picture"));

byId("take-equaliser").addEventListener("click", () => {
  const { equaliser } = view.asked[view.name].told.outcome;
  takeEqualiser("your equaliser", equaliser);
  byId("announce").textContent = "The moves are for this equaliser from now on.";
  byId("take-equaliser").hidden = true;
  location.hash = "#match";
});

// The references to use together are those of the first view; the others stay here, not used.
byId("use-together").addEventListener("click", () => {
  const { together } = view.asked[view.name].told.outcome;
  for (const file of readyOf("reference")) if (!together.includes(file.id)) setRole(file, "none");
  location.hash = "#match";
});

// Returns a block as elements. In narrow windows each cell of a table shows its column's name.
function blockOf({ heading, head, rows, items }) {
  const box = make("section", { className: "block" });
  if (heading) box.append(make("h3", { textContent: heading }));
  if (rows) {
    const cells = (row) => head.map((_, i) => {
      const td = make(i ? "td" : "th", { textContent: row[i] ?? "" });
      if (i) td.dataset.name = head[i];
      else td.scope = "row";
      return td;
    });
    const table = make("table", { className: head.length > 6 ? "numbers outcome-table many" : "numbers outcome-table" },
      make("thead", {}, make("tr", {}, ...head.map((name) => make("th", { scope: "col", textContent: name })))),
      make("tbody", {}, ...rows.map((row) => make("tr", {}, ...cells(row)))));
    const frame = make("div", { className: "scroll", tabIndex: 0 }, table);
    frame.setAttribute("role", "region");
    frame.setAttribute("aria-label", heading || "Table of results");
    box.append(frame);
  }
  for (const { lead, paragraphs } of items ?? []) {
    box.append(make("div", { className: "item" }, ...paragraphs.map((text, i) => make("p", {}, ...(i === 0 && lead ? [make("strong", { textContent: lead }), " "] : []), text))));
  }
  return box;
}
