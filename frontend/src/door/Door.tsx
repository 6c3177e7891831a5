// What lies over the book for those who let other machines in: the addresses, a picture of each, and who tried in vain.

import { session } from "../store";
import { t } from "../texts";
import { SignOut } from "./SignOut";
import { useDoor } from "./told";
import { triesOf, unreadOf } from "./tries";

export function Door(): preact.JSX.Element | null {
  const told = useDoor();
  if (told === null) return null;
  const { addresses, tries } = told;
  const how = addresses.length === 0 ? "nowhere" : addresses.length === 1 ? "type_one" : "type_any";
  return (
    <>
      <p>{t(`door.${how}`)}</p>
      <ul class="addresses">
        {addresses.map(({ address, picture }) => (
          <li key={address}>
            <code>{address}</code>
            {/* Dark on light on either paper: cameras look for that. */}
            <svg viewBox={`0 0 ${picture.size} ${picture.size}`} role="img" aria-label={t("door.picture", { address })} shape-rendering="crispEdges">
              <rect width={picture.size} height={picture.size} fill="#ffffff" />
              <path d={picture.d} fill="#000000" />
            </svg>
          </li>
        ))}
      </ul>
      <h3>{t("door.tries")}</h3>
      {tries.length === 0 && <p>{t("door.none")}</p>}
      <ul class="tries">
        {tries.map((one) => (
          <li key={one.peer}>
            {triesOf(one)} {unreadOf(one)}
          </li>
        ))}
        {told.machines > tries.length && <li>{t("door.others", { n: told.machines - tries.length })}</li>}
      </ul>
      {tries.length > 0 && <p>{t("door.slowed")}</p>}
      {session.value?.by_password && (
        <>
          <h3>{t("door.leave_title")}</h3>
          <p>{t("door.leave_what")}</p>
          <SignOut />
        </>
      )}
    </>
  );
}
