// Prints, as JSON, for each file a list of the faults that the validator finds in it.
const fs = require("fs");
const path = require("path");
const dir = path.resolve(process.env.LOOPDRAFT_NODE_MODULES, "node_modules");
const JZZ = require(path.join(dir, "jzz"));
require(path.join(dir, "jzz-midi-smf"))(JZZ);
const faults = process.argv.slice(1).map((file) => {
  try {
    const smf = new JZZ.MIDI.SMF(fs.readFileSync(file, "latin1"));
    return (smf.validate() || []).map((fault) => fault.toString());
  } catch (error) {
    return [error.toString()];
  }
});
console.log(JSON.stringify(faults));
