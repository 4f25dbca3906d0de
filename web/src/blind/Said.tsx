// What went wrong, in words, and a way to try again; where the desk is away, it is tried again by itself.
import { useEffect, useRef } from "preact/hooks";
import { UNREACHED, type Complaint } from "../listen/asking";

const SOON_MS = 1500;

interface SaidProps {
  complaint: Complaint | null;
  again: () => Promise<void>;
  /** Only when somebody presses. */
  pressed?: boolean;
}

export function Said({ complaint, again, pressed }: SaidProps) {
  const away = !pressed && complaint?.what === UNREACHED.what;
  const newest = useRef(again);
  newest.current = again;
  useEffect(() => {
    if (!away) return;
    const timer = setInterval(() => void newest.current(), SOON_MS);
    return () => clearInterval(timer);
  }, [away]);
  return (
    <div role="alert">
      {complaint && (
        <p class="complaint card">
          <b class="stops">{complaint.what}</b> {complaint.cure}{" "}
          <button type="button" onClick={() => void again()}>
            Try again
          </button>
        </p>
      )}
    </div>
  );
}
