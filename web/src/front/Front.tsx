// The Front desk: the baffle and what it radiates. One component that reads the store.
import { head } from "../store";

export function Front() {
  const now = head.value;
  if (!now) return null;
  return (
    <div class="desk">
      <section class="card" aria-labelledby="drivers-title">
        <h2 id="drivers-title">Drivers on the front</h2>
        <table>
          <thead>
            <tr>
              <th scope="col">driver</th>
              <th scope="col">across</th>
              <th scope="col">up</th>
            </tr>
          </thead>
          <tbody>
            {now.drivers.map((driver) => (
              <tr key={driver.name}>
                <th scope="row">{driver.name}</th>
                <td>{driver.across_mm} mm</td>
                <td>{driver.up_mm} mm</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
    </div>
  );
}
