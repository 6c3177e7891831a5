// What the spread gives to take away: links to its PDF, SVG or DXF, and the page itself for the printer.

import type { Sheet } from "../contract";
import { spread } from "../store";
import { t } from "../texts";

export function Files(props: { sheet: Sheet }): preact.JSX.Element {
  const here = props.sheet.files.filter((file) => file.spreads.includes(spread.value));
  return (
    <div class="files" role="group" aria-label={t("files.label")}>
      <span class="files-word">{t("files.label")}</span>
      {here.map((file) => (
        <span key={file.id} class="file">
          <a href={file.href} download={file.name}>
            {file.text} <small>{file.kind}</small>
          </a>
          {file.print && (
            <a class="print" href={`${file.href}?show=1`} target="_blank" rel="noopener" aria-label={t("files.print_that", { file: file.text })} title={t("files.print_that", { file: file.text })}>
              <Printer />
            </a>
          )}
        </span>
      ))}
      <button type="button" class="quiet" onClick={() => window.print()}>
        {t("files.print_page")}
      </button>
    </div>
  );
}

function Printer(): preact.JSX.Element {
  return (
    <svg viewBox="0 0 16 16" aria-hidden="true">
      <path d="M4 6V2H12V6M4 12H2V6H14V12H12M4 9.5H12V14H4Z" />
    </svg>
  );
}
