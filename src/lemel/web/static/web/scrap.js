/* At the counter: the weight is what the hand does next, so a page without faults begins there. */
(function () {
  "use strict";
  document.addEventListener("DOMContentLoaded", function () {
    var wrong = document.querySelector(".refused");
    var first = document.getElementById("f-owner");
    if (wrong) { wrong.focus(); } else if (first) { first.focus(); }
  });
})();
