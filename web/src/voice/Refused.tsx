// Why work of the panel ended in nothing: the sentence, the place and the cure, as the command says them.
import { typeset } from "../parts/words";
import { shown, type Kind } from "./state";

export function Refused({ kind }: { kind: Kind }) {
  const refused = shown.value?.refused[kind];
  if (!refused) return null;
  return (
    <p class="refused" role="note">
      ■ {typeset(refused.what)}. {refused.where && <small>{refused.where}. </small>}
      {refused.cure && <>Cure: {typeset(refused.cure)}.</>}
    </p>
  );
}
