// Number fields beside every handle: drivers, ports, cabinet.
import { NumberField } from "../parts/Fields";
import type { DriverPlace, PortPlace } from "../picture";
import { cabinet, drivers, marked, ports } from "../store";
import { held, move, trouble, type Thing, type Trouble } from "./hold";
import { cabinet_thing, driver_thing, is_meant, port_thing, set_back_thing } from "./things";
import { typeset } from "../parts/words";

function Length({ thing, name, label, least }: { thing: Thing; name: string; label: string; least?: number }) {
  const axis = thing.axes.find((one) => one.name === name);
  if (!axis) return null;
  return (
    <NumberField
      label={label}
      value={axis.mm}
      unit="mm"
      digits={Number.isInteger(axis.mm) ? 0 : 1}
      hideLabel
      {...(least === undefined ? {} : { least })}
      onValue={(mm) => move(thing, { [name]: mm })}
    />
  );
}

export function no_words(no: Trouble): string {
  return typeset(no.cure ? `${no.what}; ${no.cure}.` : `${no.what}.`);
}

/** What the server said no to, beside the thing it concerns. */
export function No({ thing }: { thing: string }) {
  const no = trouble.value;
  if (no?.key !== thing || held.value?.grabbed) return null;
  return (
    <p class="no-words" role="alert">
      <span aria-hidden="true">■</span> {no_words(no)}
    </p>
  );
}

function NoRow({ thing }: { thing: string }) {
  if (trouble.value?.key !== thing || held.value?.grabbed) return null;
  return (
    <tr>
      <td colSpan={4}>
        <No thing={thing} />
      </td>
    </tr>
  );
}

/** While the hand is on a thing, over the picture: nothing may move under the hand. */
export function NoWhileHeld() {
  const no = trouble.value;
  if (!no || !held.value?.grabbed) return null;
  return (
    <p class="no-words over-picture" role="alert">
      <span aria-hidden="true">■</span> {no_words(no)}
    </p>
  );
}

export function Places() {
  const wanted = marked.value?.desk === "front" ? marked.value.target : null;
  return (
    <table class="places">
      <thead>
        <tr>
          <th scope="col">on the front</th>
          <th scope="col">across</th>
          <th scope="col">up</th>
          <th scope="col">set back</th>
        </tr>
      </thead>
      <tbody>
        {drivers.value.map((driver) => [
          <DriverRow key={driver.name} driver={driver} is_marked={is_meant(wanted, driver.name, driver.way)} />,
          <NoRow key={`${driver.name}, refused`} thing={`driver ${driver.name}`} />,
        ])}
        {ports.value.map((port) => [
          <PortRow key={port.way} port={port} is_marked={wanted === port.way} />,
          <NoRow key={`${port.way}, refused`} thing={`port of ${port.way}`} />,
        ])}
      </tbody>
    </table>
  );
}

function DriverRow({ driver, is_marked }: { driver: DriverPlace; is_marked: boolean }) {
  return (
    <tr class={is_marked ? "marked" : ""}>
      <th scope="row">{driver.name}</th>
      <td>
        <Length thing={driver_thing(driver)} name="across" label={`${driver.name}, across`} />
      </td>
      <td>
        <Length thing={driver_thing(driver)} name="up" label={`${driver.name}, up`} />
      </td>
      <td>
        <Length thing={set_back_thing(driver)} name="set back" label={`${driver.name}, set back`} least={0} />
      </td>
    </tr>
  );
}

function PortRow({ port, is_marked }: { port: PortPlace; is_marked: boolean }) {
  return (
    <tr class={is_marked ? "marked" : ""}>
      <th scope="row">port of {port.way}</th>
      <td>
        <Length thing={port_thing(port)} name="across" label={`port of ${port.way}, across`} />
      </td>
      <td>
        <Length thing={port_thing(port)} name="up" label={`port of ${port.way}, up`} />
      </td>
      <td />
    </tr>
  );
}

export function CabinetSizes() {
  const box = cabinet.value;
  if (!box) return null;
  const thing = cabinet_thing(box);
  const shows = marked.value?.desk === "front" && marked.value.target === "cabinet";
  return (
    <div class={shows ? "cabinet-sizes marked" : "cabinet-sizes"} role="group" aria-label="Cabinet">
      {(["width", "height", "depth", "edge radius"] as const).map((name) => (
        <div key={name} class="size-field">
          <span aria-hidden="true">{name}</span>
          <Length thing={thing} name={name} label={`cabinet, ${name}`} least={0} />
        </div>
      ))}
      <p class="note">
        The edge radius acts only in the reference solve; what is shown here takes edges as sharp.
      </p>
      <No thing="cabinet" />
    </div>
  );
}
