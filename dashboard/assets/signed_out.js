/* When a session has ended, the next click leads to the page for signing in, and from there back to here. */
(function () {
  "use strict";
  var fetching = window.fetch;
  window.fetch = function () {
    return fetching.apply(window, arguments).then(function (answer) {
      if (answer.status === 401) {
        window.location.assign("/sign-in?next=" + encodeURIComponent(window.location.pathname + window.location.search));
      }
      return answer;
    });
  };
})();
