import { render } from "preact";
import "./style.css";
import { App } from "./frame/App";
import "./sight";

const place = document.getElementById("app");
if (place) render(<App />, place);
