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
    <path className="ray" d="M4 0h20M18 -5l6 5l-6 5" />
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

/** Seen from above: root left, the tip a dot at the right end. */
const ArmAbove = ({ x, y }: { readonly x: number; readonly y: number }) => (
  <g transform={`translate(${x} ${y})`}>
    <path className="part" d="M-46 -14h16v28h-16z" />
    <path className="part" d="M-30 -4h66v8h-66z" />
    <circle className="dot" cx="30" r="2.6" />
  </g>
);
const Seen = ({ from }: { readonly from: string }) => (
  <text className="seen" x="8" y="124">
    {`drawn from ${from}`}
  </text>
);

const DRAWINGS: Readonly<Record<Pose, ReactNode>> = {
  front: (
    <>
      <path className="ground" d="M8 108h184" />
      <g transform="translate(200 0) scale(-1 1)">
        <ArmSide x={78} y={78} />
      </g>
      <Barrel x={52} y={86} turn={0} />
      <Lamp x={184} y={97} turn={180} />
      <Seen from="the side" />
    </>
  ),
  side: (
    <>
      <ArmAbove x={104} y={56} />
      <Barrel x={134} y={112} turn={-90} />
      <Lamp x={134} y={14} turn={90} />
      <Seen from="above" />
    </>
  ),
  'end-on': (
    <>
      <g transform="rotate(180 140 74)">
        <TipFront x={140} y={66} />
      </g>
      <path className="part" d="M112 112h56v8h-56z" />
      <Barrel x={140} y={44} turn={90} />
      <g transform="rotate(90 140 40)">
        <Ring x={140} y={40} />
      </g>
      <Seen from="the side" />
    </>
  ),
  below: (
    <>
      <ArmSide x={104} y={50} />
      <Barrel x={130} y={108} turn={-90} />
      <Lamp x={130} y={14} turn={90} />
      <Seen from="the side" />
    </>
  ),
};
