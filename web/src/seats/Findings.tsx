// Before you print: everything the designer should know, gravest first.
import { typeset } from "../parts/words";
import type { Finding, Level } from "../picture";
import { chosen_key, head, key_of, show } from "../store";

const SIGNS: Record<Level, string> = { stops: "■", check: "▲", fine: "●" };

export function Findings() {
  const now = head.value;
  if (!now) return null;
  const count = (level: Level) => now.findings.filter((finding) => finding.level === level).length;
  const unknown = !now.full && now.findings.length === 0;
  return (
    <section class="card before" aria-labelledby="findings-title" aria-busy={!now.full}>
      <div class="card-head">
        <h2 id="findings-title">Before you print</h2>
        <small>
          {unknown ? "being worked out …" : `${count("stops")} stops, ${count("check")} to check, ${count("fine")} fine`}
        </small>
      </div>
      <ul class={`findings${now.full ? "" : " late"}`}>
        {now.findings.map((finding) => (
          <Row key={finding.code + finding.what} finding={finding} />
        ))}
      </ul>
    </section>
  );
}

function Row({ finding }: { finding: Finding }) {
  const grave = finding.level !== "fine";
  return (
    <li>
      <span class={finding.level}>
        <span aria-hidden="true">{SIGNS[finding.level]}</span> {finding.level}
      </span>
      <div>
        <p>{typeset(finding.what)}</p>
        {grave && (finding.cause || finding.cure) && (
          <dl>
            {finding.cause && <><dt>cause</dt><dd>{typeset(finding.cause)}</dd></>}
            {finding.cure && <><dt>cure</dt><dd>{typeset(finding.cure)}</dd></>}
            {finding.where && <><dt>where</dt><dd class="where">{finding.where}</dd></>}
          </dl>
        )}
      </div>
      {finding.show && (
        <button type="button" aria-label={`Show: ${finding.what}`} title={finding.where} onClick={() => go_to(finding)}>
          Show
        </button>
      )}
    </li>
  );
}

/** Mark the place; where the finding names a seat, that seat's story is told too. */
function go_to(finding: Finding): void {
  const seat = head.value?.seats.find((each) => finding.what.toLowerCase().includes(each.name.toLowerCase()));
  if (seat) chosen_key.value = key_of(seat);
  if (finding.show) show(finding.show);
}
