import "@fontsource-variable/source-serif-4/wght.css";
import "@fontsource-variable/source-serif-4/wght-italic.css";
import "./style/colours.css";
import "./style/book.css";
import "./style/tape.css";
import "./style/values.css";
import "./style/paper.css";
import "./style/lines.css";
import "./style/margin.css";
import "./style/files.css";
import "./style/spreads.css";
import "./style/shelf.css";
import "./style/door.css";
import "./style/print.css";
import { render } from "preact";
import { Book } from "./book/Book";
import { listenForKeys } from "./keys";
import { begin } from "./session";

const place = document.getElementById("book");
if (place !== null) {
  render(<Book />, place);
  listenForKeys();
  void begin();
}
