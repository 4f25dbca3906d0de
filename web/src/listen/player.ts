// Several sounds on one clock: all run at once from the same instant, one is heard, and switching only moves gains.

export const FADE_S = 0.008; // of a switch: no click, and too short to be heard as one
export const QUIET_DB = -20; // where every page begins
export const LOUDEST_DB = 0; // sounds are made with their peaks below full scale, and nothing here is raised
const SOFTEST_DB = -60;
const LEAD_S = 0.02; // between a press and its switch, beside the device's own: scheduled before it is due
const EDGE_S = 0.03; // of the start and the end

const gain_of = (level_db: number): number => 10 ** (level_db / 20);

/** A sound as it comes from the server: 32-bit floats, the left ear and then the right one. */
export function buffer_of(context: BaseAudioContext, data: ArrayBuffer, rate_hz: number): AudioBuffer {
  const numbers = new Float32Array(data);
  const samples = numbers.length / 2;
  const buffer = context.createBuffer(2, samples, rate_hz);
  buffer.copyToChannel(numbers.subarray(0, samples), 0);
  buffer.copyToChannel(numbers.subarray(samples), 1);
  return buffer;
}

interface Run {
  sources: AudioBufferSourceNode[];
  gains: GainNode[]; // of each sound: one is heard
  whole: GainNode; // of all of this run: it begins, ends and gives way to another here
  since: number;
  from_s: number; // where in the programme it began
}

export class Player {
  chosen = 0;
  private buffers: readonly AudioBuffer[] = [];
  private running: Run | null = null;
  private from_s = 0; // where the next play begins
  private calm_at = 0; // when every fade that is under way is over
  private level_db = QUIET_DB;
  private readonly loud: GainNode;
  private readonly lead_s: number;

  constructor(private readonly context: BaseAudioContext) {
    this.lead_s = LEAD_S + ("baseLatency" in context ? (context as AudioContext).baseLatency : 0);
    this.loud = context.createGain();
    this.loud.gain.value = gain_of(this.level_db);
    this.loud.connect(context.destination);
  }

  /** Take other sounds, all equally long; what plays goes on until they fade in at the same place. */
  load(buffers: readonly AudioBuffer[]): void {
    const before = this.running;
    const begin = this.soon();
    const place_s = before ? this.place_at(begin) : this.from_s;
    this.buffers = buffers;
    this.chosen = Math.min(this.chosen, Math.max(0, buffers.length - 1));
    if (!before) return;
    this.end(before, begin, FADE_S);
    this.running = null;
    this.from_s = place_s;
    if (buffers.length) this.begin(begin, FADE_S);
  }

  get playing(): boolean {
    return this.running !== null;
  }

  get duration_s(): number {
    return this.buffers[0]?.duration ?? 0;
  }

  /** Where in the programme it is; from the end it goes on at the beginning. */
  get position_s(): number {
    return this.place_at(this.context.currentTime);
  }

  play(): void {
    if (!this.running && this.buffers.length) this.begin(this.soon(), EDGE_S);
  }

  /** Stop; the next play goes on from here. */
  stop(): void {
    if (!this.running) return;
    const begin = Math.max(this.context.currentTime, this.calm_at);
    this.from_s = this.place_at(begin);
    this.end(this.running, begin, EDGE_S);
    this.running = null;
  }

  /** Let another sound be heard, at the same instant of the programme. */
  choose(index: number): void {
    if (index === this.chosen || index < 0 || index >= this.buffers.length) return;
    if (this.running) {
      const begin = this.soon();
      for (const [place, gain] of this.running.gains.entries()) if (place === index || place === this.chosen) fade(gain, begin, FADE_S, place === index);
      this.calm_at = begin + FADE_S;
    }
    this.chosen = index;
  }

  /** How loud everything is; never above the loudest. */
  loudness(level_db: number): void {
    this.level_db = Math.max(SOFTEST_DB, Math.min(LOUDEST_DB, level_db));
    if (this.running) this.loud.gain.setTargetAtTime(gain_of(this.level_db), this.context.currentTime, EDGE_S);
    else this.loud.gain.cancelScheduledValues(0).value = gain_of(this.level_db);
  }

  /** When the next change may begin: in time to be scheduled, after what is under way, at a sample. */
  private soon(): number {
    const rate = this.context.sampleRate;
    return Math.round(Math.max(this.context.currentTime + this.lead_s, this.calm_at) * rate) / rate;
  }

  private place_at(time: number): number {
    const { since, from_s } = this.running ?? { since: time, from_s: this.from_s };
    return this.duration_s ? (from_s + Math.max(0, time - since)) % this.duration_s : from_s;
  }

  private begin(since: number, within_s: number): void {
    const whole = this.context.createGain();
    whole.gain.value = 0; // the fade may begin a hair after the sample at which the sounds start
    whole.connect(this.loud);
    fade(whole, since, within_s, true);
    const gains = this.buffers.map((_, index) => {
      const gain = this.context.createGain();
      gain.gain.value = index === this.chosen ? 1 : 0;
      gain.connect(whole);
      return gain;
    });
    const from_s = this.from_s % this.duration_s; // the programme may be another one
    const sources = this.buffers.map((buffer, index) => {
      const source = this.context.createBufferSource();
      source.buffer = buffer;
      source.loop = true;
      source.connect(gains[index] as GainNode);
      source.start(since, from_s);
      return source;
    });
    this.running = { sources, gains, whole, since, from_s };
    this.calm_at = since + within_s;
  }

  private end(run: Run, begin: number, within_s: number): void {
    fade(run.whole, begin, within_s, false);
    for (const source of run.sources) source.stop(begin + within_s);
    const [first] = run.sources;
    if (first) first.onended = () => run.whole.disconnect();
    this.calm_at = begin + within_s;
  }
}

/** A straight fade between silence and all of it. */
function fade({ gain }: GainNode, begin: number, within_s: number, up: boolean): void {
  gain.setValueAtTime(up ? 0 : 1, begin);
  gain.linearRampToValueAtTime(up ? 1 : 0, begin + within_s);
}
