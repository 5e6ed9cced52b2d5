// Runs in the audio thread: hands the microphone's samples over, a twentieth of a second at a time.
class Recorder extends AudioWorkletProcessor {
  constructor() {
    super();
    this.size = 6 * Math.round(sampleRate / 120);   // goes by two and by three
    this.part = new Float32Array(this.size);
    this.at = 0;
  }

  process([input]) {
    const [samples] = input;
    if (!samples) return true;
    for (const sample of samples) {
      this.part[this.at] = sample;
      this.at += 1;
      if (this.at === this.size) {
        this.port.postMessage(this.part.slice());
        this.at = 0;
      }
    }
    return true;
  }
}

registerProcessor("recorder", Recorder);
