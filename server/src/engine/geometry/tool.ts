/**
 * A tool as the geometry sees it: cylinders about a vertical axis (machine Z), stacked upward from the tool point.
 * Heights count from the tool point. A drill point is a cone at the bottom of the cutting part.
 */
export interface ToolPart {
  readonly part: "cutting" | "shank" | "holder";
  /** Radius at the bottom; 0 for the tip of a cone. */
  readonly bottomRadius: number;
  readonly topRadius: number;
  readonly from: number;
  readonly to: number;
}

/** The stack; a tool of which nothing is known is one part with radius 0 and height Infinity ("a line with no width"). */
export type ToolStack = readonly ToolPart[];
