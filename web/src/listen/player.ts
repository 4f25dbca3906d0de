// Several sounds on one clock: all run at once from the same instant, one is heard, and switching only moves gains.

export const FADE_S = 0.008; // of a switch: no click, and too short to be heard as one
export const QUIET_DB = -20; // where every page begins
export const LOUDEST_DB = 0; // sounds are made with their peaks below full scale, and nothing here is raised
const SOFTEST_DB = -60;
const LEAD_S = 0.01; // between a press and its switch, so that it is scheduled before it is due
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

export class Player {
  chosen = 0;
  private buffers: readonly AudioBuffer[] = [];
  private running: { sources: AudioBufferSourceNode[]; gains: GainNode[]; whole: GainNode; since: number } | null = null;
  private from_s = 0;
  private calm_at = 0; // when the switch before is over
  private level_db = QUIET_DB;

  constructor(private readonly context: BaseAudioContext) {}

  /** Take other sounds, all equally long; what plays goes on with them at the same place. */
  load(buffers: readonly AudioBuffer[]): void {
    const played = this.playing;
    if (played) this.halt();
    this.buffers = buffers;
    this.chosen = Math.min(this.chosen, Math.max(0, buffers.length - 1));
    if (played && buffers.length) this.play();
  }

  get playing(): boolean {
    return this.running !== null;
  }

  get duration_s(): number {
    return this.buffers[0]?.duration ?? 0;
  }

  /** Where in the programme it is; from the end it goes on at the beginning. */
  get position_s(): number {
    if (!this.running || !this.duration_s) return this.from_s;
    return (this.from_s + Math.max(0, this.context.currentTime - this.running.since)) % this.duration_s;
  }

  play(): void {
    if (this.running || !this.buffers.length) return;
    const since = this.context.currentTime + LEAD_S;
    const whole = this.context.createGain(); // of this run alone: one that ends fades by itself
    whole.gain.setValueAtTime(0, since);
    whole.gain.linearRampToValueAtTime(gain_of(this.level_db), since + EDGE_S);
    whole.connect(this.context.destination);
    const gains = this.buffers.map((_, index) => {
      const gain = this.context.createGain();
      gain.gain.value = index === this.chosen ? 1 : 0;
      gain.connect(whole);
      return gain;
    });
    const sources = this.buffers.map((buffer, index) => {
      const source = this.context.createBufferSource();
      source.buffer = buffer;
      source.loop = true;
      source.connect(gains[index] as GainNode);
      source.start(since, this.from_s);
      return source;
    });
    this.running = { sources, gains, whole, since };
    this.calm_at = since;
  }

  /** Stop; the next play goes on from here. */
  stop(): void {
    if (!this.running) return;
    this.halt();
  }

  /** Let another sound be heard, at the same instant of the programme. */
  choose(index: number): void {
    if (index === this.chosen || index < 0 || index >= this.buffers.length) return;
    const begin = Math.max(this.context.currentTime + LEAD_S, this.calm_at);
    if (this.running) {
      for (const [place, gain] of this.running.gains.entries()) {
        if (place !== index && place !== this.chosen) continue;
        gain.gain.setValueAtTime(place === index ? 0 : 1, begin);
        gain.gain.linearRampToValueAtTime(place === index ? 1 : 0, begin + FADE_S);
      }
      this.calm_at = begin + FADE_S;
    }
    this.chosen = index;
  }

  /** How loud everything is; never above the loudest. */
  loudness(level_db: number): void {
    this.level_db = Math.max(SOFTEST_DB, Math.min(LOUDEST_DB, level_db));
    if (!this.running) return;
    const begin = Math.max(this.context.currentTime, this.running.since + EDGE_S);
    this.running.whole.gain.setTargetAtTime(gain_of(this.level_db), begin, EDGE_S);
  }

  private halt(): void {
    if (!this.running) return;
    const { sources, whole } = this.running;
    const now = this.context.currentTime;
    this.from_s = this.position_s;
    this.running = null;
    whole.gain.cancelScheduledValues(now);
    whole.gain.setTargetAtTime(0, now, EDGE_S / 5);
    for (const source of sources) source.stop(now + 2 * EDGE_S);
  }
}
