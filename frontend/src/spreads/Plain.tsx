import { WorkDrawing } from "../paper/WorkDrawing";

export function DrawingRight(): preact.JSX.Element {
  return <WorkDrawing />;
}
