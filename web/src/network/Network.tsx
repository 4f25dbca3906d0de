// The Network desk: the crossover network as a drawing. One component that reads the store.
import { head } from "../store";

export function Network() {
  const now = head.value;
  if (!now) return null;
  return (
    <div class="desk">
      <section class="card" aria-labelledby="ways-title">
        <h2 id="ways-title">Ways</h2>
        <table>
          <thead>
            <tr>
              <th scope="col">way</th>
              <th scope="col">drivers</th>
              <th scope="col">steps</th>
            </tr>
          </thead>
          <tbody>
            {now.ways.map((way) => (
              <tr key={way.name}>
                <th scope="row">{way.name}</th>
                <td>{way.drivers.join(", ")}</td>
                <td>{way.steps.length}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
    </div>
  );
}
