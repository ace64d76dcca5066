/**
 * The moving-tool queries in one place: least distance of a tool part along a line or an arc to a box, in closed form or
 * by a search that ends with a proof; no sampling.
 */
export type { Arc } from "./arc-sweep.js";
export { boundsOfArc, gapArc, gapArcBody } from "./arc-sweep.js";
export type { Body, Section } from "./distance.js";
export { penetration, prepare, sectionOf } from "./distance.js";
export type { Gap } from "./line-sweep.js";
export { gapLine, gapLineBody, unknownGap } from "./line-sweep.js";
export type { Turn } from "./turn-sweep.js";
export { gapIndex } from "./turn-sweep.js";
