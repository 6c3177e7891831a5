// One panel with the layers that still lie on it, the outermost last. Kinds of line differ by width and dash.

import type { LayerPiece, PanelDrawing } from "../contract";

interface Props {
  panel: PanelDrawing;
  /** The layers that still lie there, from the outside in. */
  layers: string[];
  /** Whether the pad is tinted for itself. */
  pads: boolean;
}

export function Panel({ panel, layers, pads }: Props): preact.JSX.Element {
  const lying = seen(layers.map((name) => panel.layers.find((piece) => piece.layer === name)));
  const top = lying[0];
  return (
    <g class="panel">
      {lying.length === 0 && <path d={panel.net} class="ground bare" />}
      {[...lying].reverse().map((piece) => (
        <g key={piece.layer}>
          <path d={piece.cut} class={`ground ${piece.layer}`} />
          <path d={piece.cut} class="cut" />
          {piece === top && <Marks piece={piece} net={piece.net || panel.net} />}
        </g>
      ))}
      {pads && top?.layer === "shell" && panel.pad && <path d={panel.pad.d} class="padded" />}
      {/* A small top layer leaves the lines of the panel to be seen as they lie. */}
      {(top === undefined || top.net !== "") && <path d={panel.net} class="net" />}
      {panel.levels.map((level) => (
        <path key={level.id} d={level.d} class="level" />
      ))}
      {panel.fold && <path d={panel.fold.d} class="fold" />}
      {panel.grain && <path d={panel.grain.d} class="grain" />}
      {panel.points.map((point) => (
        <path key={point.id} class="point" d={`M${point.at[0] - 3} ${point.at[1]}h6M${point.at[0]} ${point.at[1] - 3}v6`} />
      ))}
    </g>
  );
}

/** What can be seen of a pile: all down to the first piece that is as large as the panel and hides the rest. */
function seen(pile: (LayerPiece | undefined)[]): LayerPiece[] {
  const pieces = pile.filter((piece): piece is LayerPiece => piece !== undefined);
  const hides = pieces.findIndex((piece) => piece.net === "");
  return hides < 0 ? pieces : pieces.slice(0, hides + 1);
}

function Marks(props: { piece: LayerPiece; net: string }): preact.JSX.Element {
  const { piece, net } = props;
  return (
    <>
      <path d={net} class="net" />
      {piece.placement.map((d) => (
        <path key={d} d={d} class="placement" />
      ))}
      {piece.notches.map((notch) => (
        <path key={notch.id} d={notch.d} class="notch" />
      ))}
    </>
  );
}

/** The grounds of the layers, so that one is told from another without colour: hatching, dots, waves. */
export function Textures(): preact.JSX.Element {
  return (
    <defs aria-hidden="true">
      <marker id="arrow" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="7" markerHeight="7" orient="auto-start-reverse">
        <path d="M1 1L7 4L1 7" class="arrowhead" />
      </marker>
      <Texture id="tex-interfacing" size={6} d="M0 3H6M3 0V6" />
      <Texture id="tex-foam" size={6} d="M1.5 1.5h.01M4.5 4.5h.01" round />
      <Texture id="tex-web" size={8} d="M0 4Q2 2 4 4T8 4" />
      <Texture id="tex-lining" size={5} d="M0 5L5 0" />
      <Texture id="tex-lining-interfacing" size={6} d="M0 6L6 0M0 0L6 6" />
    </defs>
  );
}

function Texture(props: { id: string; size: number; d: string; round?: boolean }): preact.JSX.Element {
  const { id, size, d, round } = props;
  return (
    <pattern id={id} width={size} height={size} patternUnits="userSpaceOnUse">
      <rect width={size} height={size} class="weave-ground" />
      <path d={d} class={round ? "weave dots" : "weave"} />
    </pattern>
  );
}
