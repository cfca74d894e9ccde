/* Leads on from an old address and takes the fragment along: which figure or measure was linked. */
(function () {
  "use strict";
  var to = document.querySelector("main a");
  if (to) { location.replace(to.href + location.hash); }
})();
