// Tracks: what the person says about single tracks: their groups and places, and that there is no mix
// yet. Groups and places live on the server, as roles do.

const PLACES = [["", "as it is"], ["front", "bring forward"], ["back", "move back"]];

// Reports whether the view takes the tracks' sum for the mix.
const isSum = () => view.name === "tracks" && byId("tracks-sum").checked;

// Takes the tracks' sum for the mix, or no longer.
function takeSum(on) {
  byId("tracks-sum").dataset.value = byId("tracks-sum").checked = on;
  showFiles();
}
byId("tracks-sum").addEventListener("change", ({ target }) => {
  takeSum(target.checked);
  refresh();
});

// Returns what is said about the tracks for a request. The first view may ask for no moves; here a move
// is needed to say where it belongs.
function placingFor() {
  const all = readyOf("track"), groups = new Map();
  for (const { id, group } of all) if (group) groups.set(group, [...(groups.get(group) ?? []), id]);
  const at = (wanted) => all.filter(({ place }) => place === wanted).map(({ id }) => id);
  const { max_moves, toward_percent } = app.fields;
  return { max_moves: max_moves || USUAL.max_moves, toward_percent: toward_percent || USUAL.toward_percent, groups: [...groups].map(([name, tracks]) => ({ name, tracks })), front: at("front"), back: at("back") };
}

// Sets and keeps what is said about a track.
function placeTrack(file, said) {
  Object.assign(file, said);
  request("PUT", `recordings/${file.id}/placing`, { group: file.group, place: file.place }).catch(tellTrouble);
  showTracks();
  if (view.name === "tracks") refresh();
}

// Makes the row of a track.
function trackRow(file) {
  const group = make("input", { type: "text", placeholder: "none", autocomplete: "off" }), place = make("select", { autocomplete: "off" }, ...PLACES.map(([value, words]) => new Option(words, value)));
  group.setAttribute("list", "group-names");
  group.setAttribute("aria-label", `Group of ${file.name}`);
  place.setAttribute("aria-label", `Place of ${file.name}`);
  group.addEventListener("change", () => placeTrack(file, { group: group.value.trim() }));
  place.addEventListener("change", () => placeTrack(file, { place: place.value }));
  return Object.assign(make("div", { className: "track-row" }, make("span", { className: "name", textContent: file.name }), group, place), { group, place });
}

// Shows the rows of all tracks.
function showTracks() {
  const all = readyOf("track");
  byId("tracks-known").hidden = view.name !== "tracks" || all.length === 0;
  for (const file of all) {
    file.known ??= trackRow(file);
    file.known.group.value = file.group ?? "";
    file.known.place.value = file.place ?? "";
  }
  const rows = all.map(({ known }) => known), box = byId("track-rows");
  if (rows.length !== box.children.length || rows.some((row, i) => row !== box.children[i])) box.replaceChildren(...rows);
  byId("group-names").replaceChildren(...[...new Set(all.map(({ group }) => group).filter(Boolean))].map((value) => new Option(value, value)));
}
