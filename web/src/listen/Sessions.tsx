// Sessions of the folder: begin one, open it, close it, see what was heard.
import { useState } from "preact/hooks";
import { send, words_of, type Complaint } from "./asking";
import { Begin, KINDS } from "./Begin";
import { Wrong, type Choices } from "./Listen";

export interface SessionRow {
  id: string;
  trouble?: string;
  name: string;
  kind: string;
  begun: string;
  done: number;
  of: number;
  real: boolean;
  closed: boolean;
  leader: string | null;
  why: string;
}

export function Sessions({ choices, changed }: { choices: Choices; changed: () => void }) {
  return (
    <section class="card" aria-labelledby="sessions-title">
      <h2 id="sessions-title">Blind sessions</h2>
      <p class="quietly">
        Listeners compare sounds without knowing which is which. Every press is saved; nothing is told until the session is closed.
      </p>
      {choices.sessions.length > 0 && <List rows={choices.sessions} changed={changed} />}
      <Begin choices={choices} changed={changed} />
    </section>
  );
}

function List({ rows, changed }: { rows: readonly SessionRow[]; changed: () => void }) {
  const [wrong, set_wrong] = useState<Complaint | null>(null);
  const [sure, set_sure] = useState<string | null>(null);
  const close = (row: SessionRow) => {
    if (row.done < row.of && sure !== row.id) return set_sure(row.id);
    set_sure(null);
    send("/listen/close", { id: row.id }).then(changed, (error: unknown) => set_wrong(words_of(error)));
  };
  return (
    <>
      <Wrong complaint={wrong} />
      <table>
        <thead>
          <tr>
            {["session", "kind", "begun", "answered", ""].map((words) => (words ? <th scope="col" key={words}>{words}</th> : <td key="last" />))}
          </tr>
        </thead>
        <tbody>
          {rows.map((row) =>
            row.trouble ? (
              <tr key={row.id}>
                <th scope="row">{row.id}</th>
                <td colSpan={4}>{row.trouble}</td>
              </tr>
            ) : (
              <tr key={row.id}>
                <th scope="row">
                  {row.name} {row.why && <small>{row.why}</small>}
                </th>
                <td>{KINDS[row.kind]}</td>
                <td>{row.begun}</td>
                <td>
                  {row.done} of {row.of}
                </td>
                <td>
                  {row.closed ? (
                    <a href={`/results/${row.id}`} target="_blank">
                      What was heard
                    </a>
                  ) : (
                    <>
                      <a href={`/blind/${row.id}`} target="_blank">
                        Open for listeners
                      </a>{" "}
                      {row.leader && (
                        <a href={`/leader/${row.id}?key=${row.leader}`} target="_blank">
                          Leader’s page
                        </a>
                      )}{" "}
                      <button type="button" class="quiet" onClick={() => close(row)}>
                        {sure === row.id ? "Stop early and tell all?" : "Close and tell"}
                      </button>
                    </>
                  )}
                </td>
              </tr>
            ),
          )}
        </tbody>
      </table>
    </>
  );
}
