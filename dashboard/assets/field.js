/* A labelled field to type into. The browser keeps what is typed until the form is sent. */
(function () {
  "use strict";
  var element = React.createElement;

  function Field(props) {
    var shared = { id: props.id, name: props.name, defaultValue: props.value, maxLength: props.most };
    var input = props.rows > 1
      ? element("textarea", Object.assign({ rows: props.rows }, shared))
      : element("input", Object.assign({ type: props.kind || "text", required: props.needed, autoComplete: "off" }, shared));
    return element("label", { htmlFor: props.id }, element("span", null, props.label), input);
  }

  window.dashboard = Object.assign(window.dashboard || {}, { Field: Field });
})();
