// What went wrong, in words, and a way to try again.
import type { Complaint } from "../listen/asking";

export function Said({ complaint, again }: { complaint: Complaint | null; again: () => Promise<void> }) {
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
