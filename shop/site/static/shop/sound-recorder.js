// Hands on what comes in, in the thread of the sound: some thousand samples at a time, with their place.
"use strict";
const FRAMES = 4096;

class Recorder extends AudioWorkletProcessor {
  constructor() {
    super();
    this.kept = [];
    this.filled = 0;
    this.expected = null;
    this.missed = 0;
  }

  process([input]) {
    const frames = input.length ? input[0].length : 0;
    // The clock of the sound went on, and this thread was not asked.
    if (this.expected !== null && currentFrame !== this.expected) this.missed += currentFrame - this.expected;
    if (frames) {
      this.expected = currentFrame + frames;
      this.keep(input, frames);
    }
    return true;
  }

  keep(input, frames) {
    while (this.kept.length < input.length) this.kept.push(new Float32Array(FRAMES));
    for (const [place, channel] of input.entries()) this.kept[place].set(channel, this.filled);
    this.filled += frames;
    if (this.filled + frames <= FRAMES) return;
    const channels = this.kept.map((channel) => channel.slice(0, this.filled));
    this.port.postMessage(
      { channels, missed: this.missed },
      channels.map((channel) => channel.buffer),
    );
    this.filled = 0;
  }
}

registerProcessor("recorder", Recorder);
