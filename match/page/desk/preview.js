// Preview: plays a move while its slider is dragged, before the server has computed the loudness.
// Until then it is predicted by the bands' weights, within a few tenths of a LU.

const PREVIEW_MS = 90; // shortest time between two: each fades to the next within it

const preview = { at: 0, timer: null, of: null }; // timer: null if nothing is about to be played; of: the last player from the server

// Plays moves soon: after the curve is drawn, and not too often.
function previewSound(moves) {
  clearTimeout(preview.timer);
  preview.timer = setTimeout(playMoves, Math.max(preview.at + PREVIEW_MS - performance.now(), 0), moves);
}

function playMoves(moves) {
  preview.at = performance.now();
  preview.timer = null;
  const player = preview.of;
  if (!heard || !player?.band_weights || !player.sources.some((source) => source.through_moves)) return;
  const on = moves.filter((move) => move.on && move.gain_db !== 0 && dialsFor(move.shape));
  const filters = on.map((move) => filterOf(move, dialsFor(move.shape)));
  const { freq_hz, rate_hz } = app.answer.curves;
  const rates = new Set([player.rate_hz, heard.transport.rate].filter(Boolean));
  if (filters.some(({ hz, q }) => !(q > 0) || !(hz > 0) || [...rates].some((rate) => hz >= rate / 2))) return;
  const sections = filters.map((filter) => sectionOf(filter, rate_hz));
  let before = 0, after = 0;
  player.band_weights.forEach((weight, b) => {
    before += weight;
    after += weight * 10 ** (responseDB(sections, Math.min(freq_hz[b], 0.4999 * rate_hz), rate_hz) / 10);
  });
  const change = 10 * Math.log10(after / before);
  const moved = filters.map((filter, i) => ({ label: `${i + 1}`, sections: Object.fromEntries([...rates].map((rate) => [String(rate), [sectionOf(filter, rate)]])) }));
  const sources = player.sources.map((source) => {
    if (!source.through_moves || source.loudness_lufs[0] === null) return source;
    return { ...source, loudness_lufs: Array(2 ** moved.length).fill(source.loudness_lufs[0] + change) };
  });
  heard.preview({ ...player, moves: moved, sources });
}
