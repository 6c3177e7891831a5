// Two windows wrote different things: both are shown, and she says which holds.

import { useEffect, useRef } from "preact/hooks";
import { mineAfterAll, theirsThen } from "../queue";
import { type OpenConflict, values } from "../store";
import { t } from "../texts";

export function ConflictBar(props: { open: OpenConflict }): preact.JSX.Element {
  const { conflict } = props.open;
  const bar = useRef<HTMLDivElement>(null);
  useEffect(() => bar.current?.scrollIntoView({ block: "nearest" }), []);
  const name = values.value[conflict?.key ?? ""]?.name ?? "";
  return (
    <div class="conflict" role="alert" ref={bar}>
      <p>{conflict ? t("conflict.both", { name, yours: conflict.yours, theirs: conflict.theirs, was: conflict.was }) : t("conflict.newer")}</p>
      {conflict && (
        <button type="button" class="plain" onClick={mineAfterAll}>
          {t("conflict.mine", { yours: conflict.yours })}
        </button>
      )}
      <button type="button" class="plain" onClick={theirsThen}>
        {conflict ? t("conflict.theirs", { theirs: conflict.theirs }) : t("conflict.understood")}
      </button>
    </div>
  );
}
