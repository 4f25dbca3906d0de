// A page of its own for listeners and for the leader of real speakers. It learns letters; names only the leader's does.
import { render } from "preact";
import { Blind } from "./Blind";
import { Leader } from "./Leader";

const [, role, key] = location.pathname.split("/");
const place = document.getElementById("app");
if (place && key) render(role === "leader" ? <Leader id={key} /> : <Blind id={key} />, place);
