// For comfort only: every page works without it.
"use strict";
