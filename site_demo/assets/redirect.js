(function(){"use strict";var to=document.querySelector("main a");if(to){location.replace(to.href+location.hash);}})();
