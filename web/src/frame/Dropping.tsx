// A driver's response or impedance text dropped on the page.
import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";

export function Dropping() {
  const over = useSignal(false);
  useEffect(() => {
    const enter = (event: DragEvent) => {
      if (!event.dataTransfer?.types.includes("Files")) return;
      event.preventDefault();
      over.value = true;
    };
    addEventListener("dragover", enter);
    return () => removeEventListener("dragover", enter);
  }, [over]);
  return over.value ? <div class="dropping">Drop a driver's response or impedance text here</div> : null;
}
