import type { ReactNode } from 'react';

/** How part, microscope and light stand to each other. Our own drawings; the words beside them say the same. */
export type Pose = 'front' | 'side' | 'end-on' | 'below';

export function Pictogram({ pose, title }: { readonly pose: Pose; readonly title: string }) {
  return (
    <svg className="pictogram" viewBox="0 0 200 130" role="img" aria-label={title}>
      {DRAWINGS[pose]}
    </svg>
  );
}

/** The barrel looks along its arrow; the lamp stands on the far side for a silhouette, around the barrel for glints. */
const Barrel = ({ x, y, turn }: { readonly x: number; readonly y: number; readonly turn: number }) => (
  <g transform={`translate(${x} ${y}) rotate(${turn})`}>
    <rect className="solid" x="-42" y="-13" width="34" height="26" rx="3" />
    <path className="solid" d="M-8 -9h8v18h-8z" />
    <path className="ray" d="M4 0h26M24 -5l6 5l-6 5" />
  </g>
);
const Lamp = ({ x, y, turn }: { readonly x: number; readonly y: number; readonly turn: number }) => (
  <g transform={`translate(${x} ${y}) rotate(${turn})`}>
    <circle className="lamp" r="9" />
    <path className="ray-light" d="M13 -8h14M13 0h18M13 8h14" />
  </g>
);
const Ring = ({ x, y }: { readonly x: number; readonly y: number }) => (
  <g transform={`translate(${x} ${y})`}>
    <ellipse className="lamp-ring" rx="6" ry="22" />
  </g>
);
/** Tip down, seen from the front: shank, cone, rounded end. */
const TipFront = ({ x, y }: { readonly x: number; readonly y: number }) => (
  <path
    className="part"
    transform={`translate(${x} ${y})`}
    d="M-9 -34h18v22l-6.5 13a3 3 0 01-5 0l-6.5 -13z"
  />
);
/** Cantilever with its tip, seen from the side: root left, tip right and down. */
const ArmSide = ({ x, y }: { readonly x: number; readonly y: number }) => (
  <g transform={`translate(${x} ${y})`}>
    <path className="part" d="M-46 -16h16v24h-16z" />
    <path className="part" d="M-30 -7h64v7h-64z" />
    <path className="part" d="M24 0h8v9l-3 7h-2l-3 -7z" />
  </g>
);

const DRAWINGS: Readonly<Record<Pose, ReactNode>> = {
  front: (
    <>
      <path className="ground" d="M8 112h184" />
      <path className="groove" d="M76 112l24 -14l24 14" />
      <TipFront x={100} y={92} />
      <Barrel x={58} y={76} turn={0} />
      <Lamp x={168} y={76} turn={180} />
    </>
  ),
  side: (
    <>
      <path className="ground" d="M8 112h184" />
      <ArmSide x={96} y={90} />
      <g className="towards">
        <circle className="solid" cx="100" cy="38" r="15" />
        <circle className="dot" cx="100" cy="38" r="4" />
      </g>
      <path className="ray" d="M100 56v22M95 72l5 6l5 -6" />
    </>
  ),
  'end-on': (
    <>
      <g transform="rotate(180 130 66)">
        <TipFront x={130} y={66} />
      </g>
      <path className="part" d="M104 96h52v9h-52z" />
      <Barrel x={130} y={40} turn={90} />
      <g transform="rotate(90 130 38)">
        <Ring x={130} y={38} />
      </g>
    </>
  ),
  below: (
    <>
      <ArmSide x={104} y={50} />
      <Barrel x={108} y={108} turn={-90} />
      <Lamp x={108} y={16} turn={90} />
    </>
  ),
};
