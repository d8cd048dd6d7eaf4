// The pages before sign-in: the worker gets the files while he types, so that his first page can be kept already.

import { watchForms } from "/static/forms.js";
import { useWorker } from "/static/worker.js";

watchForms();
useWorker();
