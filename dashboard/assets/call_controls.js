/* What the New call page is made of: sections, buttons that stay pressed, fields for an amount of time. Text is only
   ever set as text, never as HTML. */
(function () {
  "use strict";
  var serviceCalls = window.serviceCalls = window.serviceCalls || {};
  var h = React.createElement;
  var words = function () { return serviceCalls.words; };

  /* A part of the page under its title; `level` 2 unless said. */
  function section(id, title, children, lead) {
    return h("section", { className: "exhibit", id: id, key: id, "aria-labelledby": id + "-title" },
      h("header", null, h("h2", { id: id + "-title", tabIndex: -1 }, title)),
      lead ? h("p", { className: "lead" }, lead) : null,
      h("div", { className: "body" }, children));
  }

  /* One of several answers; pressed again it is taken back. */
  function chip(id, label, pressed, press, more) {
    return h("button", Object.assign({ key: id, id: id, type: "button", className: "chip", "aria-pressed": String(!!pressed),
      onClick: function (event) { if (event.detail < 2) { press(!pressed); } } }, more || {}),
      h("span", { className: "tick", "aria-hidden": "true" }, pressed ? "✓" : ""), label);
  }

  function button(id, label, press, kind, more) {
    return h("button", Object.assign({ key: id, id: id, type: "button", className: kind || "act", onClick: press }, more || {}), label);
  }

  /* A group of chips under a question. */
  function group(id, label, chips, note, extra) {
    return h("div", { key: id, id: id, className: "ask", role: "group", "aria-labelledby": id + "-label" },
      h("p", { id: id + "-label", className: "ask-label" }, label, note ? h("span", { className: "note" }, " " + note) : null),
      h("div", { className: "chips" }, chips), extra || null);
  }

  /* An amount of time: a number and its unit, handed on as days. */
  function Amount(props) {
    var start = props.days ? serviceCalls.rows.spoken(Number(props.days)) : { amount: "", unit: props.unit };
    var typed = React.useState({ amount: String(start.amount), unit: start.unit });
    var now = typed[0];

    function change(next) {
      typed[1](next);
      var read = serviceCalls.readings.parse(next.amount).value;
      var days = read === null || !isFinite(read) || read < 0 ? null : Math.round(read * serviceCalls.rows.DAYS[next.unit] * 10) / 10;
      props.change(days === null ? null : String(days));
    }

    return h("div", { className: "amount" },
      h("label", { htmlFor: props.id }, props.label, props.note ? h("span", { className: "note" }, " " + props.note) : null),
      h("span", { className: "typed" },
        h("input", { id: props.id, type: "text", inputMode: "decimal", autoComplete: "off", maxLength: 6, value: now.amount,
          onChange: function (event) { change({ amount: event.target.value, unit: now.unit }); } }),
        h("select", { "aria-label": props.label + ", unit of time", value: now.unit, id: props.id + "-unit",
          onChange: function (event) { change({ amount: now.amount, unit: event.target.value }); } },
          Object.keys(serviceCalls.rows.DAYS).map(function (unit) { return h("option", { key: unit, value: unit }, unit); }))));
  }

  /* A temperature, handed on in degrees Celsius; converted by the units of measure of the page. */
  function Temperature(props) {
    var typed = React.useState({ text: props.celsius || "", unit: "degC" }), now = typed[0];

    function change(next) {
      typed[1](next);
      var read = serviceCalls.readings.parse(next.text).value;
      var celsius = read === null || !isFinite(read) ? null : serviceCalls.readings.convert(props.units, read, next.unit, "degC");
      props.change(celsius === null ? null : String(Math.round(10 * celsius) / 10));
    }

    return h("div", { className: "amount" },
      h("label", { htmlFor: props.id }, props.label),
      h("span", { className: "typed" },
        h("input", { id: props.id, type: "text", autoComplete: "off", maxLength: 6, value: now.text,
          onChange: function (event) { change({ text: event.target.value, unit: now.unit }); } }),
        h("select", { id: props.id + "-unit", "aria-label": props.label + ", unit", value: now.unit,
          onChange: function (event) { change({ text: now.text, unit: event.target.value }); } },
          ["degC", "degF"].map(function (unit) { return h("option", { key: unit, value: unit }, serviceCalls.words.unit(unit)); }))));
  }

  /* A labelled field to type into. */
  function field(id, label, value, change, more) {
    return h("label", { key: id, htmlFor: id, className: "typed-line" }, h("span", null, label),
      h((more || {}).rows ? "textarea" : "input", Object.assign({ id: id, value: value, autoComplete: "off",
        onChange: function (event) { change(event.target.value); } }, more && more.rows ? {} : { type: "text" }, more || {})));
  }

  function bar(share) {
    return h("span", { className: "mark", "aria-hidden": "true" },
      h("span", { className: "mark-bar", style: { width: Math.max(1, Math.round(100 * share)) + "%" } }));
  }

  serviceCalls.controls = { section: section, chip: chip, button: button, group: group, Amount: Amount, Temperature: Temperature, field: field, bar: bar, words: words };
})();
