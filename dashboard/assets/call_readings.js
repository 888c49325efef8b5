/* Judges a reading in the unit in which it was taken: 0 °F is not -18 °C. Pure: no page, no network.
   Limits are common practice and yield to the maker's sheet. */
(function (root) {
  "use strict";
  var serviceCalls = root.serviceCalls = root.serviceCalls || {};
  var OPEN = /^\+?(o\.?l\.?|0l|open|∞)$/i;
  var NEAR_ZERO = 0.05;   /* of the lower limit: a coil or heater this low is shorted beyond doubt */
  var SETTINGS = { meter_range: true };   /* how the meter is set, not what it shows */
  var DIFFERENCES = { pressure_drop: ["still", "flowing"] };   /* judged from two readings of one check */
  var ONLY_WHEN = { reverse_osmosis_feed: ["supply_type", "reverse_osmosis"] };

  /* A number, Infinity for an open circuit, or null; "1,250" can be read in two ways and is asked for. */
  function parse(text) {
    var written = String(text === undefined || text === null ? "" : text).trim().replace(/^[−–]/, "-");
    if (OPEN.test(written)) { return { value: Infinity }; }
    if (/^[+-]?[1-9]\d{0,2},\d{3}$/.test(written)) { return { value: null, ask: true }; }
    var plain = written.replace(",", ".");
    return { value: /^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : null };
  }

  function convert(units, value, from, to) {
    if (from === to) { return value; }
    var a = units[from], b = units[to];
    if (!a || !b || a.quantity !== b.quantity) { return null; }
    return (value * a.scale + a.offset - b.offset) / b.scale;
  }

  /* The bounds in the unit of the reading where the trade writes them so; else the reading in the unit of the limit. */
  function boundsFor(limit, value, unit, units, sheet) {
    if (sheet && (isNumber(sheet.low) || isNumber(sheet.high))) {
      return { low: sheet.low, high: sheet.high, unit: sheet.unit || unit, sheet: true, value: convert(units, value, unit, sheet.unit || unit) };
    }
    var own = limit.also && limit.also.unit === unit ? limit.also : limit;
    return { low: own.low, high: own.high, stop: own.stop, unit: own.unit, value: convert(units, value, unit, own.unit) };
  }

  function isNumber(value) { return typeof value === "number" && isFinite(value); }

  function beyond(value, bounds) {
    if (isNumber(bounds.low) && value < bounds.low) { return -1; }
    return isNumber(bounds.high) && value > bounds.high ? 1 : 0;
  }

  /* Whether there is no doubt left: past `stop`, open, or near 0 where a resistance is wanted. */
  function certain(side, bounds, quantity) {
    if (!isFinite(bounds.value)) { return true; }
    if (quantity === "resistance" && side < 0 && bounds.value <= NEAR_ZERO * bounds.low) { return true; }
    if (!isNumber(bounds.stop)) { return false; }
    return side > 0 ? bounds.value > bounds.stop : bounds.value < bounds.stop;
  }

  /* What a reading says.
     limit   of the pack, or null;  text, unit   as taken;  units   {code: {quantity, scale, offset}};
     sheet   {low, high, unit} from the maker's sheet, which replaces the limit.
     Gives {verdict, finding, side}: verdict none, ask, no_number, other_quantity, no_limit, healthy, doubtful or outside;
     finding as the reading suggests it ("fault", "no_fault", "inconclusive"); side -1 low, 1 high. */
  function judge(limit, text, unit, units, sheet) {
    var read = parse(text);
    if (String(text === undefined || text === null ? "" : text).trim() === "") { return { verdict: "none" }; }
    if (read.ask) { return { verdict: "ask" }; }
    if (read.value === null) { return { verdict: "no_number" }; }
    if (!limit) { return { verdict: "no_limit", value: read.value }; }
    var bounds = boundsFor(limit, read.value, unit, units, sheet);
    if (bounds.value === null) { return { verdict: "other_quantity" }; }
    var side = beyond(bounds.value, bounds);
    var told = { value: read.value, side: side, low: bounds.low, high: bounds.high, unit: bounds.unit, sheet: !!bounds.sheet,
                 open: read.value === Infinity };
    if (!side) { return Object.assign(told, { verdict: "healthy", finding: "no_fault" }); }
    told.certain = certain(side, bounds, (units[unit] || {}).quantity);
    var doubtful = isNumber(bounds.stop) && !told.certain;
    return Object.assign(told, doubtful ? { verdict: "doubtful", finding: "inconclusive" } : { verdict: "outside", finding: "fault" });
  }

  /* The readings that a check can have, one for each field: [{code, limit, state, label, unit, units}]. */
  function readingsOf(check, answers, units) {
    var limits = (check.limits || []).filter(function (limit) {
      var only = ONLY_WHEN[limit.code];
      return !SETTINGS[limit.code] && !DIFFERENCES[limit.code] && (!only || (answers || {})[only[0]] === only[1]);
    });
    var fields = limits.map(function (limit) {
      return { code: limit.code, limit: limit, state: limit.state || "", label: limit.label, unit: limit.unit, units: alike(limit.unit, units) };
    });
    (check.limits || []).forEach(function (limit) {
      if (!DIFFERENCES[limit.code]) { return; }
      DIFFERENCES[limit.code].forEach(function (state) {
        if (fields.some(function (field) { return field.state === state; })) { return; }
        var label = check.label.split(",")[0] + ", " + state;
        fields.unshift({ code: check.code + "_" + state, limit: null, state: state, label: label, unit: limit.unit, units: alike(limit.unit, units) });
      });
    });
    return fields;
  }

  /* The limits on a difference of two readings: [{limit, value, unit}] for those with both. */
  function differences(check, fields, readings, units) {
    return (check.limits || []).filter(function (limit) { return DIFFERENCES[limit.code]; }).map(function (limit) {
      var both = DIFFERENCES[limit.code].map(function (state) {
        var field = fields.filter(function (each) { return each.state === state; })[0];
        var read = field && readings[field.code], value = read ? parse(read.text).value : null;
        return value === null || !isFinite(value) ? null : convert(units, value, read.unit || field.unit, limit.unit);
      });
      return { limit: limit, unit: limit.unit, value: both[0] === null || both[1] === null ? null : Math.round((both[0] - both[1]) * 100) / 100 };
    }).filter(function (each) { return each.value !== null; });
  }

  function settings(check) {
    return (check.limits || []).filter(function (limit) { return SETTINGS[limit.code]; });
  }

  function alike(unit, units) {
    var quantity = (units[unit] || {}).quantity;
    return Object.keys(units).filter(function (each) { return units[each].quantity === quantity; });
  }

  serviceCalls.readings = { parse: parse, convert: convert, judge: judge, readingsOf: readingsOf, differences: differences, settings: settings };
  if (typeof module !== "undefined") { module.exports = serviceCalls; }
})(typeof window === "undefined" ? globalThis : window);
