// Zones: each zone of the spectrum heard alone in the plain excerpt.

// Starts the zones on the page. sound is as for startTrial.
function startAlone(zones, sound) {
  const $ = (id) => document.getElementById(id);
  let nodes = null, zone = null;
  const hz = (x) => (x < 1000 ? `${Math.round(x)} Hz` : `${Number((x / 1000).toPrecision(2))} kHz`);

  function tell() {
    const what = zone ? `the ${zone.name} alone, ${hz(zone.low_hz)} to ${hz(zone.high_hz)}` : "all zones";
    $("alone-state").textContent = nodes ? `Playing ${what}.` : `Stopped: ${what}.`;
    $("alone-play").textContent = nodes ? "Stop" : "Play";
  }

  async function play() {
    if (nodes) return stop();
    const { ctx, buffer, out } = await sound.prepare();
    const source = new AudioBufferSourceNode(ctx, { buffer, loop: true }), band = makeBand(ctx);
    source.connect(band.input);
    band.output.connect(out);
    band.solo(soloed());
    source.start();
    nodes = { source, band };
    tell();
  }
  const soloed = () => zone && { low: zone.low_hz, high: zone.high_hz };

  function stop() {
    if (!nodes) return;
    nodes.source.stop();
    nodes.band.output.disconnect();
    nodes = null;
    tell();
  }

  for (const each of [null, ...zones]) {
    const label = document.createElement("label"), input = document.createElement("input"), words = document.createElement("span");
    Object.assign(input, { type: "radio", name: "alone", value: each?.name ?? "all", checked: !each, autocomplete: "off" });
    words.textContent = each ? each.name : "all";
    input.addEventListener("change", () => {
      zone = each;
      nodes?.band.solo(soloed());
      tell();
    });
    label.append(input, words);
    $("alone-zones").append(label);
  }
  $("alone-play").addEventListener("click", play);
  tell();
  $("alone").hidden = false;
  return { stop, playing: () => nodes !== null };
}
