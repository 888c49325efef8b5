/* A native <select> drawn from a list: works by keyboard, with a screen reader and on a telephone as the system's own. */
(function () {
  "use strict";
  var element = React.createElement;

  function option(item, index) {
    return element("option", { key: index, value: item[0], "data-values": item[2] ? JSON.stringify(item[2]) : undefined }, item[1]);
  }

  function Choice(props) {
    var select = element("select", { id: props.id, name: props.name, defaultValue: props.value }, props.options.map(option));
    return element("label", { htmlFor: props.id, className: props.layout },
      props.before ? props.before + " " : null,
      props.spoken ? element("span", { className: "hidden" }, props.spoken + " ") : null,
      select);
  }

  window.dashboard = Object.assign(window.dashboard || {}, { Choice: Choice });
})();
