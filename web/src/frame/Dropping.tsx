// A driver's response or impedance text: dropped on the page or picked, shown by the server, then taken.
import { signal, useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Chart } from "../parts/Chart";
import { TextField } from "../parts/Fields";
import { typeset } from "../parts/words";
import { ask, head, said, token } from "../store";

const LARGEST_BYTES = 2_000_000;
const MOUNTINGS = ["large baffle", "standard baffle", "own cabinet", "near field"];

type Kind = "response" | "impedance";

interface Preview {
  driver: string;
  part: string;
  of: Kind;
  what: string;
  replaces: boolean;
  measured: Record<string, string>;
  frequency_hz: number[];
  value: number[];
}

/** The text at hand; null when none. */
const dropped = signal<{ name: string; text: string } | null>(null);

export async function take_file(file: File): Promise<void> {
  if (file.size > LARGEST_BYTES) {
    said.value = `“${file.name}” holds more than 2 MB; a curve is a short text.`;
    return;
  }
  dropped.value = { name: file.name, text: await file.text() };
}

export function Dropping() {
  const over = useSignal(false);
  useEffect(() => {
    const enter = (event: DragEvent) => {
      if (!event.dataTransfer?.types.includes("Files")) return;
      event.preventDefault();
      over.value = event.type === "dragover";
    };
    const leave = (event: DragEvent) => {
      if (event.relatedTarget === null) over.value = false;
    };
    const drop = (event: DragEvent) => {
      enter(event);
      const file = event.dataTransfer?.files[0];
      if (file) void take_file(file);
    };
    addEventListener("dragover", enter);
    addEventListener("dragleave", leave);
    addEventListener("drop", drop);
    return () => {
      removeEventListener("dragover", enter);
      removeEventListener("dragleave", leave);
      removeEventListener("drop", drop);
    };
  }, [over]);
  return over.value ? <div class="dropping">Drop a driver's response or impedance text here</div> : null;
}

/** What was dropped: whose it is, what it holds, and whether to take it. */
export function Dropped() {
  const file = dropped.value;
  const drivers = head.value?.drivers ?? [];
  if (!file || !drivers[0]) return null;
  return <Form key={file.name + file.text.length} file={file} first={drivers[0].name} />;
}

function Form({ file, first }: { file: { name: string; text: string }; first: string }) {
  const driver = useSignal(first);
  const kind = useSignal<Kind>(/imp|ohm/i.test(file.name) ? "impedance" : "response");
  const preview = useSignal<Preview | null>(null);
  const complaint = useSignal("");
  const measured = useSignal<Record<string, string>>({});
  useEffect(() => {
    let newest = true;
    void previewed(file.text, driver.value, kind.value).then((answer) => {
      if (!newest) return;
      preview.value = typeof answer === "string" ? null : answer;
      complaint.value = typeof answer === "string" ? answer : "";
      measured.value = typeof answer === "string" ? {} : answer.measured;
    });
    return () => {
      newest = false;
    };
  }, [driver.value, kind.value, file.text]);
  const away = () => (dropped.value = null);
  const take = () => {
    ask("curve", { driver: driver.value, kind: kind.value, take: true, ...measured.value });
    away();
  };
  const shown = preview.value;
  return (
    <section class="card dropped" aria-label="A dropped curve">
      <div class="card-head">
        <h2>{file.name}</h2>
        {shown && <small>{typeset(shown.what)}</small>}
      </div>
      <p class="row">
        <label>
          driver{" "}
          <select value={driver.value} onChange={(event) => (driver.value = event.currentTarget.value)}>
            {head.value?.drivers.map(({ name }) => (
              <option key={name} value={name}>
                {name}
              </option>
            ))}
          </select>
        </label>
        <label>
          it is the{" "}
          <select value={kind.value} onChange={(event) => (kind.value = event.currentTarget.value === "impedance" ? "impedance" : "response")}>
            <option value="response">response</option>
            <option value="impedance">impedance</option>
          </select>
        </label>
        {shown && <Measured measured={measured.value} change={(key, text) => (measured.value = { ...measured.value, [key]: text })} />}
      </p>
      {complaint.value && <p class="stops complaint" role="alert">{typeset(complaint.value)}</p>}
      {shown && (
        <Chart
          title={`${shown.part}: ${shown.of}`}
          frequency_hz={shown.frequency_hz}
          lines={[{ name: "dropped", values: shown.value, look: "now" }]}
          unit={shown.of === "impedance" ? "ohm" : "dB"}
          height={150}
        />
      )}
      <p class="row">
        <button type="button" class="main" disabled={!shown} onClick={take}>
          {shown?.replaces ? "Take it, in place of the one there" : "Take it"}
        </button>
        <button type="button" onClick={away}>
          Put away
        </button>
        <span class="quietly">Nothing is written before Save.</span>
      </p>
    </section>
  );
}

function Measured({ measured, change }: { measured: Record<string, string>; change: (key: string, text: string) => void }) {
  return (
    <>
      {Object.entries(measured).map(([key, text]) =>
        key === "mounted" ? (
          <label key={key}>
            mounted in{" "}
            <select value={text} onChange={(event) => change(key, event.currentTarget.value)}>
              {MOUNTINGS.map((mounting) => (
                <option key={mounting} value={mounting}>
                  {mounting}
                </option>
              ))}
            </select>
          </label>
        ) : (
          <TextField key={key} label={key} text={text} width="5em" onText={(typed) => change(key, typed)} />
        ),
      )}
    </>
  );
}

/** Let the server read a text; its words where it cannot. */
async function previewed(text: string, driver: string, kind: Kind): Promise<Preview | string> {
  const query = new URLSearchParams({ token: token(), driver, kind });
  try {
    const answer = await fetch(`/curve?${query}`, { method: "PUT", headers: { "content-type": "text/plain" }, body: text });
    if (answer.ok) return (await answer.json()) as Preview;
    if (answer.status !== 422) return await answer.text();
    const refused = (await answer.json()) as { what: string; where: string; cure: string };
    return [refused.what, refused.where, refused.cure && `Cure: ${refused.cure}`].filter(Boolean).join(". ");
  } catch {
    return "The server does not answer; the text stays here until it does.";
  }
}

/** The same by keyboard: a file is picked instead of dropped. */
export function PickCurve() {
  return (
    <label class="pick">
      Curve …
      <input
        type="file"
        accept="text/plain,.txt,.csv"
        class="unseen"
        aria-label="Curve … a driver's response or impedance from a text file"
        onChange={(event) => {
          const file = event.currentTarget.files?.[0];
          if (file) void take_file(file);
          event.currentTarget.value = "";
        }}
      />
    </label>
  );
}
