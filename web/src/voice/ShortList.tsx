// The short list: what each network gives and takes, tried in the drawing or written as a file of its own.
import { useSignal } from "@preact/signals";
import { ask, head } from "../store";
import { quantity } from "../parts/words";
import { shown, type Found, type Made, type Offer } from "./state";
import { percent, set_units } from "./words";
import { TradeOff } from "./TradeOff";

export function ShortList({ found }: { found: Found }) {
  const { voicing } = found;
  return (
    <div class="found">
      <p>
        <b>
          {voicing.design}: unevenness {quantity(voicing.goal_before, "dB", 2)}, now {quantity(voicing.goal_after, "dB", 2)}
        </b>{" "}
        <small>{found.words}</small>
      </p>
      {found.stale && <p class="stale">Something beside the network has changed since: search again for numbers that hold now.</p>}
      {found.nothing ? (
        <p>{found.nothing}</p>
      ) : (
        <>
          <TradeOff found={found} />
          <Table found={found} />
        </>
      )}
      {voicing.suggestions.map(({ doing, gained }) => (
        <p key={doing}>
          Would pay: {doing}, {quantity(gained, "dB", 2)} less uneven.
        </p>
      ))}
    </div>
  );
}

function Table({ found }: { found: Found }) {
  const { before, short_list } = found.voicing;
  return (
    <div class="scroll list" tabIndex={0} role="region" aria-label="Short list">
      <table>
        <thead>
          <tr>
            <th scope="col">network</th>
            <th scope="col">uneven</th>
            <th scope="col">parts</th>
            <th scope="col">price</th>
            <th scope="col">within {quantity(before.yield.within_db, "dB", 1)}</th>
            <th scope="col">at least</th>
          </tr>
        </thead>
        <tbody>
          <tr>
            <th scope="row">as it was</th>
            <Numbers offer={before} />
          </tr>
        </tbody>
        {short_list.map((offer, place) => (
          <Row key={place} found={found} offer={offer} place={place} />
        ))}
      </table>
    </div>
  );
}

function Numbers({ offer, margin }: { offer: Offer; margin?: number }) {
  const [low, high] = offer.yield.good_interval;
  return (
    <>
      <td>
        {quantity(offer.goal, "dB", 2)}
        {margin !== undefined && <small>{margin >= 0 ? `${quantity(margin, "dB", 2)} better` : `${quantity(-margin, "dB", 2)} worse`}</small>}
      </td>
      <td>{offer.parts}</td>
      <td>{offer.price.toFixed(2)}</td>
      <td>
        {percent(offer.yield.good)}
        <small>
          {(100 * low).toFixed(1)} to {percent(high)}
        </small>
      </td>
      <td>{quantity(offer.stress.load.lowest_ohm, "Ω", 1)}</td>
    </>
  );
}

function Row({ found, offer, place }: { found: Found; offer: Offer; place: number }) {
  const open = useSignal(false);
  const name = `network ${place + 1}`;
  const saved = found.saved[String(place)];
  const which = { search: found.search, offer: place };
  const in_hand = found.in_hand === place;
  const try_words = in_hand ? "In the drawing" : "Try";
  const save_words = saved ? `Saved as ${saved}` : "Save as a design file";
  return (
    <tbody data-offer={place}>
      <tr class="numbers">
        <th scope="row">
          {place + 1}
          {offer.note && <small>{offer.note}</small>}
        </th>
        <Numbers offer={offer} margin={found.voicing.goal_before - offer.goal} />
      </tr>
      <tr class="doing">
        <td colSpan={6}>
          <button
            type="button"
            aria-label={`${try_words}: ${name}`}
            title="Put it into the drawing; Undo takes it back"
            disabled={in_hand}
            onClick={() => ask("try", which)}
          >
            {try_words}
          </button>{" "}
          <button type="button" aria-label={`${save_words}: ${name}`} disabled={saved !== undefined} onClick={() => ask("save offer", which)}>
            {save_words}
          </button>{" "}
          <button type="button" class="quiet" aria-expanded={open.value} aria-label={`Parts: ${name}`} onClick={() => (open.value = !open.value)}>
            Parts
          </button>
          {saved === undefined && head.value?.unsaved && <small> the file reads brief and drivers as they are on disk: save them, too</small>}
          {open.value && <Parts offer={offer} />}
        </td>
      </tr>
    </tbody>
  );
}

function Parts({ offer }: { offer: Offer }) {
  const got = offer.made.filter(({ missing }) => missing);
  const cost = got.reduce((sum, { price }) => sum + (price ?? 0), 0);
  return (
    <>
      <ul class="parts">
        {offer.made.map((part) => (
          <li key={part.name}>
            {set_units(part.name)} <small>{set_units(part.made)}, {percent(part.tolerance)} off at most{price_words(part)}</small>
            {part.electrolytic && <b class="check">▲ electrolytic</b>}
            {part.missing && <b class="to-get">to get</b>}
          </li>
        ))}
      </ul>
      <p class="quietly">
        {got.length
          ? `${got.length} of ${offer.made.length} parts are neither in the network as it was nor in a stock list: ${cost.toFixed(2)} ${shown.value?.currency ?? ""} together.`
          : "All parts are there already."}
      </p>
      {offer.stress.heat.map((words) => (
        <p key={words} class="hot">▲ {set_units(words)}</p>
      ))}
    </>
  );
}

const price_words = ({ price }: Made): string => (price === null ? "" : `, ${price.toFixed(2)}`);
