// Trials: two sounds, blind, several times in random order, and how likely the votes are by chance.

const TRIALS = 8;

const trials = { pair: null, votes: [0, 0], left: 0 };

// Returns the chance of at least k of n votes for one given side if both are equally likely.
function chanceOf(k, n) {
  let ways = 1, sum = 0;
  for (let i = 0; i <= n; i++) {
    if (i >= k) sum += ways;
    ways = (ways * (n - i)) / (i + 1);
  }
  return sum / 2 ** n;
}

// Words the votes: "moves preferred 6 of 8; chance gives that or more 1 time in 7".
function verdictOf(names, votes) {
  const n = votes[0] + votes[1];
  if (n === 0) return "No vote was given.";
  const best = votes[1] >= votes[0] ? 1 : 0;
  if (votes[0] === votes[1]) return `Neither is preferred: ${votes[0]} of ${n} each.`;
  const times = Math.round(1 / chanceOf(votes[best], n));
  return `${names[best]} preferred ${votes[best]} of ${n}; chance gives that or more ${times > 1 ? `1 time in ${times}` : "nearly every time"}.`;
}

const sourceNames = () => heard.transport.player.sources.map(({ name }) => name);

// Lists the pairs that can be compared: mix against moves first.
function showPairs() {
  const names = sourceNames(), pairs = names.flatMap((_, i) => names.slice(i + 1).map((_, k) => [i, i + 1 + k]));
  const words = pairs.map(([i, k]) => `${names[i]} and ${names[k]}`);
  const select = byId("trial-pair");
  if ([...select.options].map(({ text }) => text).join() !== words.join()) select.replaceChildren(...words.map((text, i) => new Option(text, pairs[i].join())));
}

const sayTrial = (words) => (byId("trial-state").textContent = words);

// Changes during a trial would be audible, so these parts are disabled.
const FROZEN = ".moves-here, .adjust, #files, #views, #moves, .ask, .known";

function showTrial(running) {
  for (const part of document.querySelectorAll(FROZEN)) part.inert = running;
  byId("trial-start").hidden = byId("trial-pair").disabled = running;
  byId("trial-votes").hidden = !running;
}

function nextTrial() {
  heard.blindPair(trials.pair);
  sayTrial(`Trial ${TRIALS - trials.left + 1} of ${TRIALS}: hear A and B, then say which is better. The moves stay as they are until the trials end.`);
}

byId("trial-start").addEventListener("click", async () => {
  Object.assign(trials, { pair: byId("trial-pair").value.split(",").map(Number), votes: [0, 0], left: TRIALS });
  showTrial(true);
  nextTrial();
  await heard.play();
  byId("trial-first").focus();
});

function vote(position) {
  if (trials.left === 0 || !heard.blind()) return endTrials();
  if (!heard.playedAll()) return sayTrial(`Trial ${TRIALS - trials.left + 1} of ${TRIALS}: not counted. Hear both A and B first.`);
  trials.votes[trials.pair.indexOf(heard.sourceAt(position))]++;
  if (--trials.left === 0) endTrials();
  else nextTrial();
}
byId("trial-first").addEventListener("click", () => vote(0));
byId("trial-second").addEventListener("click", () => vote(1));
byId("trial-stop").addEventListener("click", endTrials);

function endTrials() {
  const names = sourceNames(), focused = byId("trial-votes").contains(document.activeElement);
  heard.blindPair(null);
  trials.left = 0;
  showTrial(false);
  sayTrial(verdictOf(trials.pair.map((i) => names[i]), trials.votes));
  if (focused) byId("trial-start").focus();
}
