import type { Visit } from "../visits.js";
import type { Modal, Move } from "./move.js";

type Open = { -readonly [K in keyof Visit]: Visit[K] };

/**
 * Builds visits while moves come in. A visit is one tool under one work offset at one rotary angle; it begins with the
 * first X, Y or Z motion under its offset and ends with the change of tool, offset or angle (contract-details 46).
 */
export class VisitBuilder {
  readonly visits: Open[] = [];
  private open: Open | undefined;
  private modal: Modal | undefined;

  /**
   * The visit a move belongs to, -1 for none. `linear`: X, Y or Z move; `selectedBy`: step that last turned the rotary axis.
   * A reference return and a G53 move belong to the visit they leave. A move that only turns the rotary axis belongs to none,
   * and one that turns it while linear axes still move under the old offset begins none.
   */
  place(
    move: Pick<Move, "kind" | "role" | "step" | "modal" | "station" | "rotaryFrom" | "rotaryTo" | "seconds">,
    index: number,
    linear: boolean,
    rotaryStep: number,
  ): number {
    const { modal } = move;
    let open = this.open;
    if (open !== undefined && !Object.is(open.tool, modal.tool)) {
      open = undefined;
      this.open = undefined;
    }
    const leaving = move.role === "reference" || move.role === "reference-through" || move.role === "machine";
    // A rotary word that repeats the angle turns nothing, and the block is a motion like any other.
    const turns = move.kind === "index" && move.rotaryFrom !== move.rotaryTo;
    if (turns && open !== undefined && !leaving) {
      const old = open;
      // Cutting while the axis turns goes on with the visit it began in.
      if (linear && modal.offset === old.offset && /^G[123]$/.test(modal.motion)) return this.add(old, move, index);
      this.open = undefined;
      if (!linear || modal.offset === old.offset) return -1;
      return this.add(this.begin(move, index, rotaryStep), move, index);
    }
    if (leaving) {
      if (open === undefined) return -1;
      if (turns) {
        this.open = undefined;
        return open.rotary === move.rotaryTo ? this.add(open, move, index) : -1;
      }
      return this.add(open, move, index);
    }
    if (!linear) {
      if (open === undefined || open.offset !== modal.offset) return -1;
      return this.add(open, move, index);
    }
    if (open !== undefined && modal === this.modal) return this.add(open, move, index);
    const elsewhere = open === undefined || open.offset !== modal.offset || open.station !== move.station;
    if (open === undefined || elsewhere || !Object.is(open.rotary, move.rotaryTo)) {
      open = this.begin(move, index, rotaryStep);
    }
    this.modal = modal;
    return this.add(open, move, index);
  }

  private begin(move: Pick<Move, "step" | "modal" | "station" | "rotaryTo">, index: number, rotaryStep: number): Open {
    const { modal } = move;
    const selected = Math.max(modal.offsetStep, modal.toolStep, rotaryStep);
    const visit: Open = {
      index: this.visits.length,
      tool: modal.tool,
      offset: modal.offset,
      station: move.station,
      rotary: move.rotaryTo,
      openedBy: selected < 0 ? move.step : selected,
      firstStep: move.step,
      lastStep: move.step,
      firstMove: index,
      endMove: index,
      seconds: Number.NaN,
      moves: 0,
      cuts: false,
    };
    this.visits.push(visit);
    this.open = visit;
    this.modal = modal;
    return visit;
  }

  private add(visit: Open, move: Pick<Move, "kind" | "step" | "seconds">, index: number): number {
    visit.lastStep = move.step;
    visit.endMove = index + 1;
    visit.moves++;
    if (move.kind === "feed" || move.kind === "arc") visit.cuts = true;
    const { seconds } = move;
    if (!Number.isNaN(seconds)) visit.seconds = Number.isNaN(visit.seconds) ? seconds : visit.seconds + seconds;
    return visit.index;
  }
}
