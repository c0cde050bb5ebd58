/* At the mill: the tick shows at once, and the page is fetched anew once it is written. */
(function () {
  "use strict";
  document.addEventListener("DOMContentLoaded", function () {
    var list = document.getElementById("steps");
    if (!list) { return; }
    var steps = Array.from(list.children), written = false;

    function lay(done) {
      steps.forEach(function (step, n) {
        step.classList.remove("is-done", "is-now", "is-next", "is-later");
        step.classList.add(n < done ? "is-done" : n === done ? "is-now" : n === done + 1 ? "is-next" : "is-later");
      });
      document.getElementById("at-end").hidden = done < steps.length;
    }
    list.addEventListener("lemel:kept", function (event) {
      var step = event.target.closest(".step");
      if (step) { lay(steps.indexOf(step) + 1); }
    });
    document.addEventListener("lemel:sent", function () { written = true; });
    /* What is being typed for the next tick is not swept away by the page that comes anew. */
    function typing() {
      return steps.some(function (step) {
        return step.classList.contains("is-now") &&
          Array.from(step.querySelectorAll("input:not([type=hidden])")).some(function (one) { return one.value; });
      });
    }
    document.addEventListener("lemel:empty", function () {
      if (written && !typing()) { location.reload(); }
    });
  });
})();
