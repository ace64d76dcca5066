/** Every fault and every near miss of the bench. */
import type { Fault, NearMiss } from "../job.js";
import { betweenFaults, clampFaults, clampNearMisses } from "./clamps.js";
import { fixtureFaults, fixtureNearMisses } from "./fixture.js";
import { offsetFaults, offsetNearMisses } from "./offsets.js";
import { stateFaults, stateNearMisses } from "./state.js";
import { stationFaults, stationNearMisses } from "./stations.js";

export const faults: readonly Fault[] = [
  ...offsetFaults,
  ...stationFaults,
  ...clampFaults,
  ...betweenFaults,
  ...stateFaults,
  ...fixtureFaults,
];

export const nearMisses: readonly NearMiss[] = [
  ...offsetNearMisses,
  ...stationNearMisses,
  ...clampNearMisses,
  ...stateNearMisses,
  ...fixtureNearMisses,
];
