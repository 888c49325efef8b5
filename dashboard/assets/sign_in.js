/* On the forms with a password: a box that shows what is typed. */
(function () {
  "use strict";
  Array.from(document.querySelectorAll("input[data-shows]")).forEach(function (box) {
    box.closest("label").hidden = false;
    box.addEventListener("change", function () {
      box.dataset.shows.split(" ").forEach(function (id) {
        document.getElementById(id).type = box.checked ? "text" : "password";
      });
    });
  });
})();
