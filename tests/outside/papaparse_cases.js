// Writes the cases of Papa Parse's own tests as JSON: their text, what is asked of the reader, and the rows expected.
// The file of tests is run for the lists in it alone; its calls to a test runner do nothing here.
const fs = require("fs");
const vm = require("vm");

const describe = () => {};
describe.skip = () => {};
const world = { module: { exports: {} }, describe, it() {}, require: () => ({ assert: {} }) };
vm.runInNewContext(fs.readFileSync(process.argv[2], "utf8"), world);
const named = (list, cases) => cases.map((each, at) => ({ list, at, config: {}, ...each }));
const all = [...named("core", world.CORE_PARSER_TESTS), ...named("parse", world.PARSE_TESTS)];
process.stdout.write(JSON.stringify(all, (_, value) => (typeof value === "function" ? "(function)" : value)));
