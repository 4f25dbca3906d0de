import { head } from "../store";
import { typeset } from "../parts/words";

export function Changes() {
  const now = head.value;
  if (!now) return null;
  return (
    <section class="card since" aria-labelledby="changes-title">
      <h2 id="changes-title">Changes since A</h2>
      {!now.kept && <p class="quietly">Nothing is kept yet: “Keep as A” freezes the design as it is, to compare against.</p>}
      {now.kept && now.changes.length === 0 && <p class="quietly">None: the design is as it was kept.</p>}
      {now.changes.length > 0 && (
        <table>
          <thead>
            <tr>
              <th scope="col">what</th>
              <th scope="col">A</th>
              <th scope="col">now</th>
            </tr>
          </thead>
          <tbody>
            {now.changes.map((each) => (
              <tr key={each.what}>
                <th scope="row">{each.what}</th>
                <td>{typeset(each.kept)}</td>
                <td>{typeset(each.now)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
    </section>
  );
}
