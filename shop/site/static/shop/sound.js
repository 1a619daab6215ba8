// Plays a test signal and records at the same time; the recording goes into the form as a file.
"use strict";
(() => {
  const PROCESSING = {
    echoCancellation: "echo cancelling",
    noiseSuppression: "noise suppression",
    autoGainControl: "gain control",
  };
  const RATES = [44_100, 192_000];
  // Time for both directions of the card, and for the network of a wireless one.
  const [BEFORE_SECONDS, AFTER_SECONDS] = [0.2, 0.6];
  const MOST_CHANNELS = 8;

  const panel = document.querySelector("[data-play]");
  const form = panel.closest("form");
  const fields = form.elements;
  const [start, stop, said] = ["start", "stop", "said"].map((name) => panel.querySelector(`[data-${name}]`));
  const devices = { in: panel.querySelector("[data-device=in]"), out: panel.querySelector("[data-device=out]") };
  const holds = Object.fromEntries((panel.dataset.holds ?? "").split(" ").map((pair) => pair.split(":")));
  let running = null;

  const tell = (sentence) => {
    said.textContent = sentence;
  };
  const silent = () => fields.signal.value.endsWith("silence");
  class Refusal extends Error {}

  function ready() {
    start.disabled = Boolean(running) || !(fields.ready.checked || silent());
  }

  // What is measured is one of what the signal serves for.
  function suit() {
    const whats = holds[fields.signal.value]?.split(",") ?? [];
    if (whats.length && !whats.includes(fields.what.value)) fields.what.value = whats[0];
  }

  // The names of devices are told once the page may record.
  async function listDevices() {
    const known = await navigator.mediaDevices.enumerateDevices();
    for (const [way, kind] of Object.entries({ in: "audioinput", out: "audiooutput" })) {
      const select = devices[way];
      const chosen = select.value || localStorage.getItem(`sound-${way}`) || "";
      const found = known.filter((one) => one.kind === kind && one.deviceId && one.label);
      select.replaceChildren(select.options[0], ...found.map((one) => new Option(one.label, one.deviceId)));
      select.value = found.some((one) => one.deviceId === chosen) ? chosen : "";
    }
    const canChoose = "setSinkId" in AudioContext.prototype && devices.out.options.length > 1;
    devices.out.closest("label").hidden = !canChoose;
  }

  async function listen() {
    const plain = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
    const device = devices.in.value ? { deviceId: { exact: devices.in.value } } : {};
    const stream = await navigator.mediaDevices.getUserMedia({
      audio: { ...plain, ...device, channelCount: { ideal: 2 } },
    });
    const settings = stream.getAudioTracks()[0].getSettings();
    const on = Object.keys(PROCESSING).filter((name) => settings[name] === true);
    if (on.length) {
      for (const track of stream.getTracks()) track.stop();
      throw new Refusal(
        `This browser keeps ${on.map((name) => PROCESSING[name]).join(" and ")} on: it would measure itself. Use another one, or upload a file.`,
      );
    }
    return { stream, settings };
  }

  async function signalFor(context) {
    const [kind, level, side] = ["signal", "level", "side"].map((name) => fields[name].value);
    const asked = new URLSearchParams({ rate: context.sampleRate, level, side });
    const answer = await fetch(`${panel.dataset.signals.replace("KIND", kind)}?${asked}`);
    if (!answer.ok) throw new Refusal(await answer.text());
    const source = context.createBufferSource();
    source.buffer = await context.decodeAudioData(await answer.arrayBuffer());
    source.connect(context.destination);
    return source;
  }

  async function contextFor(settings) {
    const how = { latencyHint: "playback" };
    if (settings.sampleRate) how.sampleRate = settings.sampleRate;
    const context = new AudioContext(how);
    if (context.sampleRate < RATES[0] || context.sampleRate > RATES[1]) {
      await context.close();
      throw new Refusal(
        `This input runs at ${context.sampleRate} Hz; 44,100 to 192,000 Hz are measured. Is it a headset?`,
      );
    }
    if (devices.out.value && context.setSinkId) await context.setSinkId(devices.out.value);
    await context.audioWorklet.addModule(panel.dataset.recorder);
    await context.resume();
    return context;
  }

  function recorderFor(context, stream, settings) {
    const channelCount = Math.min(MOST_CHANNELS, settings.channelCount || 2);
    const node = new AudioWorkletNode(context, "recorder", {
      numberOfOutputs: 0,
      channelCount,
      channelCountMode: "explicit",
      channelInterpretation: "discrete",
    });
    const heard = { blocks: [], frames: 0, peak: 0, missed: 0, channels: channelCount };
    node.port.onmessage = ({ data }) => {
      heard.blocks.push(data.channels);
      heard.frames += data.channels[0].length;
      heard.missed = data.missed;
      for (const channel of data.channels) for (const one of channel) heard.peak = Math.max(heard.peak, Math.abs(one));
    };
    context.createMediaStreamSource(stream).connect(node);
    return heard;
  }

  const decibels = (share) => (share > 1e-6 ? `${(20 * Math.log10(share)).toFixed(1)} dB` : "nothing");

  // Resolves when enough was heard, rejects when it is stopped.
  function heardFor(seconds, context, heard) {
    return new Promise((resolve, reject) => {
      const timer = setInterval(() => {
        const now = heard.frames / context.sampleRate;
        tell(
          `${Math.min(now, seconds).toFixed(0)} of ${seconds.toFixed(0)} s at ${context.sampleRate} Hz; peak ${decibels(heard.peak)}`,
        );
        if (now >= seconds) resolve();
      }, 200);
      running.end = (why) => reject(new Refusal(why));
      running.timer = timer;
    });
  }

  function asWav(heard, rate) {
    const bytes = 4 * heard.channels;
    const view = new DataView(new ArrayBuffer(44 + heard.frames * bytes));
    const word = (place, text) => [...text].forEach((sign, n) => void view.setUint8(place + n, sign.charCodeAt(0)));
    word(0, "RIFF");
    view.setUint32(4, view.byteLength - 8, true);
    word(8, "WAVEfmt ");
    view.setUint32(16, 16, true);
    view.setUint16(20, 3, true); // floating point
    view.setUint16(22, heard.channels, true);
    view.setUint32(24, rate, true);
    view.setUint32(28, rate * bytes, true);
    view.setUint16(32, bytes, true);
    view.setUint16(34, 32, true);
    word(36, "data");
    view.setUint32(40, heard.frames * bytes, true);
    let place = 44;
    for (const block of heard.blocks) {
      for (let frame = 0; frame < block[0].length; frame += 1) {
        for (const channel of block) {
          view.setFloat32(place, channel[frame], true);
          place += 4;
        }
      }
    }
    return view.buffer;
  }

  async function record() {
    const { stream, settings } = await listen();
    running.stream = stream;
    await listDevices();
    const context = await contextFor(settings);
    running.context = context;
    const source = await signalFor(context);
    const heard = recorderFor(context, stream, settings);
    if (running.stopped) throw new Refusal(running.stopped);
    source.start(context.currentTime + BEFORE_SECONDS);
    await heardFor(BEFORE_SECONDS + source.buffer.duration + AFTER_SECONDS, context, heard);
    if (heard.missed)
      throw new Refusal(`${heard.missed} samples were lost on the way. Close other programs and record again.`);
    if (heard.peak === 0)
      throw new Refusal("Nothing at all came in: is the right input chosen, and let in by this computer?");
    return { heard, rate: context.sampleRate };
  }

  function put({ heard, rate }) {
    const [signal, level, side] = ["signal", "level", "side"].map((name) => fields[name].value);
    const files = new DataTransfer();
    files.items.add(new File([asWav(heard, rate)], `${signal}${level}dB-${side}-${rate}.wav`, { type: "audio/wav" }));
    fields.recording.files = files.files;
    fields.played.value = silent() ? "Nothing played." : `Played ${signal}, ${level} dB of full scale, ${side}.`;
    for (const [way, select] of Object.entries(devices)) localStorage.setItem(`sound-${way}`, select.value);
    if ("send" in form.dataset) {
      localStorage.setItem("sound-input", fields.sound_input.value);
      form.requestSubmit();
    }
    tell(`Recorded at ${rate} Hz, peak ${decibels(heard.peak)}.`);
  }

  async function release() {
    clearInterval(running.timer);
    for (const track of running.stream?.getTracks() ?? []) track.stop();
    await running.context?.close();
    running = null;
    stop.hidden = true;
    ready();
  }

  start.addEventListener("click", async () => {
    if ("send" in form.dataset && !fields.sound_input.value) {
      tell("Choose at Recorded by which input this is.");
      fields.sound_input.focus();
      return;
    }
    suit();
    running = { end: null };
    stop.hidden = false;
    ready();
    try {
      put(await record());
    } catch (error) {
      tell(
        error instanceof Refusal
          ? error.message
          : `The sound card cannot be used here (${error.name}: ${error.message}).`,
      );
    } finally {
      await release();
    }
  });
  // Also before the first sound, while the browser still asks.
  function halt(why) {
    if (!running) return;
    running.stopped = why;
    running.end?.(why);
  }
  stop.addEventListener("click", () => halt("Stopped."));
  // Nobody looks at a page that is hidden.
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) halt("Stopped, since the page was hidden.");
  });
  fields.signal.addEventListener("change", () => {
    suit();
    ready();
  });
  fields.ready.addEventListener("change", ready);

  panel.hidden = false;
  if (!navigator.mediaDevices || !window.AudioWorkletNode) {
    for (const part of panel.querySelectorAll("div, button")) part.hidden = true;
    tell("Recording here needs https and a browser of today; a file can be uploaded below.");
    return;
  }
  if ("fresh" in form.dataset) {
    const known = localStorage.getItem("sound-input");
    if ([...fields.sound_input.options].some((one) => one.value === known)) fields.sound_input.value = known;
  }
  ready();
  listDevices();
})();
