// Signed bars: how many dB each cause is worth; to the right deepens a hole, to the left fills it.
import { quantity } from "./words";

export function ShareBars({ rows, longest_db }: { rows: { name: string; db: number }[]; longest_db?: number }) {
  const high = Math.max(longest_db ?? 0, 1, ...rows.map((row) => row.db));
  const low = Math.min(0, ...rows.map((row) => row.db));
  const share = (db: number) => (100 * (db - low)) / (high - low);
  return (
    <div class="bars">
      {rows.map((row) => {
        const [start, end] = row.db < 0 ? [share(row.db), share(0)] : [share(0), share(row.db)];
        return [
          <span key={`${row.name} name`}>{row.name}</span>,
          <span key={`${row.name} bar`} class="track" aria-hidden="true">
            <i class={row.db < 0 ? "fills" : "deepens"} style={{ left: `${start}%`, width: `${Math.max(end - start, 0.6)}%` }} />
            <i class="zero" style={{ left: `${share(0)}%` }} />
          </span>,
          <span key={`${row.name} worth`} class="worth">{quantity(row.db, "dB", 1)}</span>,
        ];
      })}
    </div>
  );
}
