/**
 * The part of vitest's test functions that the tests of the engine use, for the mutation runner beside this file: it collects
 * tests, and `expect` is vitest's own (chai with the matchers of @vitest/expect).
 */
import { JestAsymmetricMatchers, JestChaiExpect, JestExtend, setState } from "@vitest/expect";
import * as chai from "chai";

chai.use(JestExtend);
chai.use(JestChaiExpect);
chai.use(JestAsymmetricMatchers);

export const expect = (value, message) => chai.expect(value, message);
Object.assign(expect, chai.expect);
for (const key of ["any", "anything", "arrayContaining", "closeTo", "objectContaining", "stringContaining", "stringMatching", "not"])
  Object.defineProperty(expect, key, { get: () => chai.expect[key] });
setState({ assertionCalls: 0 }, expect);
setState({ assertionCalls: 0 }, chai.expect);

/** Filled while the test files are evaluated; the runner takes it. */
export const collected = { tests: [] };

let path = [];
let before = [];

/** Starts a test file: nothing is left of one that broke off. */
export function restart() {
  collected.tests = [];
  path = [];
  before = [];
}

export function describe(name, body) {
  const outer = { path, before };
  path = [...path, name];
  before = [...before];
  body();
  path = outer.path;
  before = outer.before;
}

export function it(name, body) {
  collected.tests.push({ name: [...path, name].join(" > "), body: typeof body === "function" ? body : () => {}, before });
}

export function beforeAll(body) {
  const state = { done: undefined };
  before.push(() => {
    state.done ??= Promise.resolve(body());
    return state.done;
  });
}

/** The name of one row of a table: `%s`-like marks and `$key` are filled in as far as telling the rows apart needs. */
function each(rows) {
  return (name, body) => {
    rows.forEach((row, index) => {
      it(`${name} #${index}`, () => (Array.isArray(row) ? body(...row) : body(row)));
    });
  };
}
it.each = each;
describe.each = (rows) => (name, body) => {
  rows.forEach((row, index) => {
    describe(`${name} #${index}`, () => (Array.isArray(row) ? body(...row) : body(row)));
  });
};
export const test = it;
