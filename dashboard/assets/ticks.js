/* Boxes to tick under one heading, sent by the form they stand in; which are ticked is the browser's to keep. */
(function () {
  "use strict";
  var element = React.createElement;

  function Ticks(props) {
    var boxes = props.options.map(function (option) {
      return element("label", { key: option[0], className: "tick" },
        element("input", { type: "checkbox", name: props.name, value: option[0], defaultChecked: props.ticked.indexOf(option[0]) >= 0 }),
        element("span", null, option[1]));
    });
    return element("fieldset", { id: props.id, className: "ticks" },
      element("legend", null, props.label), element("div", null, boxes));
  }

  window.dashboard = Object.assign(window.dashboard || {}, { Ticks: Ticks });
})();
