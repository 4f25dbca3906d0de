// Title, desks, candidates, undo and redo, keep, save, and long work with its Stop.
import { useEffect } from "preact/hooks";
import { PickCurve } from "./Dropping";
import { time_left } from "../parts/words";
import type { DeskName, Job } from "../picture";
import { ask, desk, go, head, jobs } from "../store";

const TABS: readonly [DeskName, string][] = [
  ["seats", "Seats"],
  ["front", "Front"],
  ["network", "Network"],
  ["listen", "Listen"],
];

export function Header() {
  useEffect(() => {
    addEventListener("keydown", shortcut);
    return () => removeEventListener("keydown", shortcut);
  }, []);
  const now = head.value;
  const title = now?.candidates.find((candidate) => candidate.file === now.candidate)?.title ?? "forehear";
  return (
    <header>
      <h1>{title}</h1>
      <nav aria-label="Desks">
        {TABS.map(([name, label]) => (
          <a
            key={name}
            href={`/${name}`}
            aria-current={desk.value === name ? "page" : undefined}
            onClick={(event) => {
              if (event.ctrlKey || event.metaKey || event.shiftKey) return;
              event.preventDefault();
              go(name);
            }}
          >
            {label}
          </a>
        ))}
      </nav>
      {now && <Candidates />}
      {now && <Actions />}
      {jobs.value.map((job) => (
        <Progress key={job.id} job={job} />
      ))}
    </header>
  );
}

function Candidates() {
  const now = head.value;
  if (!now) return null;
  const others = now.candidates.filter((candidate) => candidate.file !== now.candidate);
  return (
    <span class="actions">
      <label>
        candidate
        <select value={now.candidate} onChange={(event) => ask("select", { candidate: event.currentTarget.value })}>
          {now.candidates.map(({ file, title }) => (
            <option key={file} value={file} selected={file === now.candidate}>
              {title}
            </option>
          ))}
        </select>
      </label>
      {others.length > 0 && (
        <label>
          against
          <select
            aria-label="compare against"
            value={now.other ?? ""}
            onChange={(event) => ask("compare", { candidate: event.currentTarget.value || null })}
          >
            <option value="" selected={now.other === null}>
              none
            </option>
            {others.map(({ file, title }) => (
              <option key={file} value={file} selected={file === now.other}>
                {title}
              </option>
            ))}
          </select>
        </label>
      )}
    </span>
  );
}

function Actions() {
  const now = head.value;
  if (!now) return null;
  return (
    <span class="actions">
      <PickCurve />
      <span class="quietly">{now.solver}</span>
      <button
        type="button"
        title="Solve this shape by the reference solver; a changed network keeps it, a changed shape does not"
        disabled={!now.solver.startsWith("instant") || jobs.value.some((job) => job.id.startsWith("refine"))}
        onClick={() => ask("start", { job: "refine" })}
      >
        Refine
      </button>
      <button type="button" title="Ctrl+Z" disabled={!now.can_undo} onClick={() => ask("undo")}>
        Undo
      </button>
      <button type="button" title="Ctrl+Shift+Z" disabled={!now.can_redo} onClick={() => ask("redo")}>
        Redo
      </button>
      <button type="button" onClick={() => ask("keep")} title="Freeze the design as it is now, to compare against">
        Keep as A
      </button>
      {now.kept && (
        <button type="button" onClick={() => ask("unkeep")}>
          Forget A
        </button>
      )}
      <button type="button" class="main" title="Ctrl+S" disabled={!now.unsaved} onClick={() => ask("save")}>
        {now.unsaved ? "Save" : "Saved"}
      </button>
    </span>
  );
}

function Progress({ job }: { job: Job }) {
  return (
    <span class="job">
      <label for={`job-${job.id}`}>{job.title}</label>
      <progress id={`job-${job.id}`} max={1} value={job.share} />
      <span>{job.seconds_left === null ? job.doing : time_left(job.seconds_left)}</span>
      <button type="button" aria-label={`Stop: ${job.title}`} onClick={() => ask("stop", { job: job.id })}>
        Stop
      </button>
    </span>
  );
}

function shortcut(event: KeyboardEvent): void {
  if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
  const key = event.key.toLowerCase();
  if (key === "s") ask("save");
  else if (key === "z") ask(event.shiftKey ? "redo" : "undo");
  else if (key === "y") ask("redo");
  else return;
  event.preventDefault();
}
