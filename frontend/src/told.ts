// What the server tells at a path, for the parts of the page that only show it.

import { useEffect, useState } from "preact/hooks";
import { AGAIN, Away, get, Refused } from "./api";
import { notice } from "./store";

/**
 * The newest answer at `path`, null until there is one. It is asked for again when the path or one of `anew` (always as
 * many) changes, after `rest` milliseconds in which neither did; an answer to an earlier question is not taken.
 */
export function useTold<T>(path: string | null, anew: readonly unknown[] = [], rest = 0): T | null {
  const [told, setTold] = useState<T | null>(null);
  useEffect(() => {
    if (path === null) return undefined;
    let old = false;
    let timer: ReturnType<typeof setTimeout>;
    const ask = async (): Promise<void> => {
      try {
        const said = await get<T>(path);
        if (!old) setTold(said);
      } catch (fault) {
        if (fault instanceof Away) {
          if (!old) timer = setTimeout(() => void ask(), AGAIN);
        } else if (fault instanceof Refused) {
          if (!old) notice.value = fault.says;
        } else throw fault;
      }
    };
    timer = setTimeout(() => void ask(), rest);
    return () => {
      old = true;
      clearTimeout(timer);
    };
  }, [path, ...anew]);
  return told;
}
