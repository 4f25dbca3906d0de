import { describe, expect, it } from "vitest";
import { decode } from "./picture";

function frame(head: object, numbers: number[]): ArrayBuffer {
  const header = new TextEncoder().encode(JSON.stringify(head));
  const start = Math.ceil((4 + header.length) / 4) * 4;
  const buffer = new ArrayBuffer(start + 4 * numbers.length);
  new DataView(buffer).setUint32(0, header.length, true);
  new Uint8Array(buffer, 4, header.length).set(header);
  numbers.forEach((value, index) => new DataView(buffer).setFloat32(start + 4 * index, value, true));
  return buffer;
}

const ARRAYS = { frequency_hz: { offset: 0, shape: [3] }, "seat.in_room_db": { offset: 3, shape: [2, 3] } };

describe("a binary frame", () => {
  it("gives header and arrays back, whatever the padding", () => {
    for (const title of ["a", "ab", "abc", "abcd", "é"]) {
      const made = decode(frame({ kind: "picture", seq: 7, title, arrays: ARRAYS }, [20, 200, 2000, 1, 2, 3, 4, 5, 6]));
      if (!("picture" in made)) throw new Error("not a picture");
      expect(made.picture.head.seq).toBe(7);
      expect([...made.picture.frequency_hz]).toEqual([20, 200, 2000]);
      expect([...(made.picture.row("seat.in_room_db", 1) ?? [])]).toEqual([4, 5, 6]);
    }
  });
  it("has nothing where the server sent nothing", () => {
    const made = decode(frame({ kind: "picture", arrays: ARRAYS }, [20, 200, 2000, 1, 2, 3, 4, 5, 6]));
    if (!("picture" in made)) throw new Error("not a picture");
    expect(made.picture.array("kept.seat.in_room_db")).toBeNull();
    expect(made.picture.row("seat.in_room_db", 2)).toBeNull();
    expect(made.picture.row("frequency_hz", 0)).toBeNull();
  });
  it("may be a header alone", () => {
    const made = decode(frame({ kind: "refused", seq: 3, what: "no", where: "", cure: "" }, []));
    expect("head" in made && made.head.kind).toBe("refused");
  });
  it("is refused when its header does not fit", () => {
    const cut = frame({ kind: "picture", arrays: {} }, []).slice(0, 12);
    expect(() => decode(cut)).toThrow(/does not fit/);
    expect(() => decode(new ArrayBuffer(2))).toThrow(/holds no header/);
  });
});
