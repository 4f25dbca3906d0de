/** How far off axis the speech range keeps within 6 dB, in words. */
import { fine_frequency, number } from "../parts/words";
import type { OrbitName } from "./directions";

interface Side {
  deg: number;
  hz: number | null;
}

/** Coverage of the speech range on both sides of an orbit, as the server sends it. */
export function coverage_words(sent: unknown, which: OrbitName): string {
  const sides = (sent as Record<string, Record<string, number | null> | undefined> | null)?.[which];
  if (!sides) return "";
  const side = (name: string): Side => ({ deg: sides[`${name}_deg`] ?? 180, hz: sides[`${name}_limit_hz`] ?? null });
  const [plus, minus] = which === "horizontal" ? ["right", "left"] : ["up", "down"];
  const words = ({ deg, hz }: Side, where: string): string =>
    hz === null ? `all the way ${where}` : `${number(deg)}° ${where} (ends at ${fine_frequency(hz)})`;
  return `Coverage, 200 Hz to 5 kHz within 6 dB: ${words(side("negative"), minus ?? "")}, ${words(side("positive"), plus ?? "")}.`;
}
