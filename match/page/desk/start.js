// Start: after a reload, or in a second tab, shows what is on the server, with its roles.
(async () => {
  await takeKept();
  showView();
  const { comparisons, recordings } = await request("GET", "history");
  showKnown(recordings);
  const same = takeUpTab(), last = comparisons.findLast(({ request: asked }) => asked.mix === app.mix && String([...asked.references].sort()) === String([...app.references].sort()));
  if (last && !same) comeBack(last);
  else refresh();
  bringBack();
})().catch(tellTrouble);
