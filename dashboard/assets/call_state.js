/* What was answered, read and found on a call, and its address: codes, numbers and the unit's number, never a name,
   a telephone number or a note. Pure: no page, no network. */
(function (root) {
  "use strict";
  var serviceCalls = root.serviceCalls = root.serviceCalls || {};
  var OWN = ["said", "found", "read", "sheet"];
  var CODE = /^[\w:.\/-]{1,60}$/, AMOUNT = /^[-+]?[\d.,]{1,12}$|^OL$/i;
  var FINDINGS = ["fault", "no_fault", "inconclusive"];

  function empty() { return { said: {}, found: {}, read: {}, sheet: {} }; }

  /* The state in a query string; what is no code, finding or number is left out. */
  function fromSearch(search) {
    var state = empty(), pairs = new URLSearchParams(search || "");
    pairs.getAll("said").forEach(function (text) {
      var cut = text.lastIndexOf("*");
      var field = text.slice(0, cut), level = text.slice(cut + 1);
      if (cut > 0 && CODE.test(field) && (level === "" || CODE.test(level))) { state.said[field] = level; }
    });
    pairs.getAll("found").forEach(function (text) {
      var parts = text.split("*");
      if (parts.length === 2 && CODE.test(parts[0]) && FINDINGS.indexOf(parts[1]) >= 0) { state.found[parts[0]] = parts[1]; }
    });
    pairs.getAll("read").forEach(function (text) {
      var parts = text.split("*");
      if (parts.length === 3 && CODE.test(parts[0]) && AMOUNT.test(parts[1]) && CODE.test(parts[2])) {
        state.read[parts[0]] = { text: parts[1], unit: parts[2] };
      }
    });
    pairs.getAll("sheet").forEach(function (text) {
      var parts = text.split("*");
      if (parts.length === 4 && CODE.test(parts[0]) && CODE.test(parts[3])) {
        state.sheet[parts[0]] = { low: amount(parts[1]), high: amount(parts[2]), unit: parts[3] };
      }
    });
    return state;
  }

  function amount(text) {
    var read = serviceCalls.readings.parse(text);
    return text === "" || read.value === null || !isFinite(read.value) ? null : read.value;
  }

  /* The query string of a state, keeping what else stands in the present one (the unit, filters carried along). */
  function toSearch(state, search) {
    var pairs = new URLSearchParams(search || "");
    OWN.forEach(function (name) { pairs.delete(name); });
    Object.keys(state.said).forEach(function (field) { pairs.append("said", field + "*" + state.said[field]); });
    Object.keys(state.found).forEach(function (check) { if (state.found[check]) { pairs.append("found", check + "*" + state.found[check]); } });
    Object.keys(state.read).forEach(function (code) {
      var text = String(state.read[code].text || "").trim();
      if (AMOUNT.test(text)) { pairs.append("read", [code, text, state.read[code].unit].join("*")); }
    });
    Object.keys(state.sheet).forEach(function (code) {
      var sheet = state.sheet[code], numbers = [sheet.low, sheet.high].map(function (n) { return typeof n === "number" ? n : ""; });
      if (numbers[0] !== "" || numbers[1] !== "") { pairs.append("sheet", [code].concat(numbers, sheet.unit).join("*")); }
    });
    var text = pairs.toString();
    return text ? "?" + text : "";
  }

  /* A state with one entry set, or taken out where the value is null. */
  function but(state, part, key, value) {
    var changed = Object.assign({}, state), entries = Object.assign({}, state[part]);
    if (value === null || value === undefined) { delete entries[key]; } else { entries[key] = value; }
    changed[part] = entries;
    return changed;
  }

  /* How many questions the caller has answered; "don't know" and what the records know are no answers of the caller's. */
  function answered(state) {
    var fields = Object.keys(state.said).filter(function (field) {
      return state.said[field] !== "" && state.said[field] !== "dont_know" && (field.indexOf("symptom:") < 0);
    });
    var complaint = Object.keys(state.said).some(function (field) { return field.indexOf("symptom:") === 0 && state.said[field] === "yes"; });
    return fields.length + (complaint ? 1 : 0);
  }

  /* Whether an answer is worth telling: given, and not one of the complaints that were not made. */
  function telling(field, level) {
    return level !== undefined && level !== null && level !== "" && !(field.indexOf("symptom:") === 0 && level === "no");
  }

  serviceCalls.state = { telling: telling, empty: empty, fromSearch: fromSearch, toSearch: toSearch, but: but, answered: answered };
  if (typeof module !== "undefined") { module.exports = serviceCalls; }
})(typeof window === "undefined" ? globalThis : window);
