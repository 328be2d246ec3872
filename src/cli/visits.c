// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// girthline visits: the history of a practice's animals.
#include "cli/visits.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <girthline/version.h>

#include "base/error.h"
#include "base/file.h"
#include "base/memory.h"
#include "cli/commands.h"
#include "cli/input.h"
#include "cli/options.h"
#include "cli/output.h"
#include "cli/say.h"
#include "cli/terminal.h"
#include "clinic/visits.h"
#include "clinic/visits_from_file.h"

#define EXAM_MOST_BYTES ((size_t)512 << 20) ///< a choice: SQLite itself ends near 950 MB

enum { OPTION_DB = 256, OPTION_REPLACE, OPTION_YES, OPTION_SPECIES, OPTION_JSON, OPTION_HTML, OPTION_PDF, OPTION_TEXT, OPTION_LINES, OPTION_FORCE, OPTION_QUIET,
       OPTION_HELP, OPTION_VERSION };

static const gn_option TABLE[] = {
    {OPTION_DB, "db", "FILE", "the history (default: $XDG_DATA_HOME/girthline/visits.db or ~/.local/share/...)"},
    {OPTION_REPLACE, "replace", NULL, "add: a corrected examination takes the old one's place"},
    {OPTION_YES, "yes", NULL, "remove: do not ask"},
    {OPTION_SPECIES, "species", "NAME", "which of several animals of one name"},
    {OPTION_JSON, "json", "PATH", "show, compare, export: JSON (- is standard output)"},
    {OPTION_HTML, "html", "PATH", "compare: a page with both visits and the course over all of them"},
    {OPTION_PDF, "pdf", "PATH", "compare: the same to print"},
    {OPTION_TEXT, "text", "PATH", "show, compare: the text into a file"},
    {OPTION_LINES, "lines", NULL, "export: one line of JSON a visit"},
    {OPTION_FORCE, "force", NULL, "overwrite a file this program did not write"},
    {OPTION_QUIET, "quiet", NULL, "say only what goes wrong"},
    {OPTION_HELP, "help", NULL, "this text"},
    {OPTION_VERSION, "version", NULL, "the version"},
};
enum { N_TABLE = sizeof TABLE / sizeof *TABLE };

static int help(void) {
  gn_options_words("Usage: girthline visits [--db FILE] add EXAM-FILE|EXAM.json\n"
                   "       girthline visits [--db FILE] list [ANIMAL]\n"
                   "       girthline visits [--db FILE] show ID\n"
                   "       girthline visits [--db FILE] compare ANIMAL [ID ID]\n"
                   "       girthline visits [--db FILE] export [PATH]\n"
                   "       girthline visits [--db FILE] check\n"
                   "       girthline visits [--db FILE] remove ID\n"
                   "Keep examinations, and set two of one animal side by side.\n\n"
                   "Whole examinations are kept, so that a comparison needs no recording. ANIMAL is an identifier, or a name; ID the number that list "
                   "shows. An EXAM.json of - is standard input.\n\n");
  gn_options_help(TABLE, N_TABLE);
  gn_options_words("\nA screening aid, not a diagnosis: a licensed veterinarian decides.\n"
                   "Exit codes: 0 done; 2 wrong usage, or a fault in an examination file; 3 an input cannot be read; 4 an output cannot be written; 5 "
                   "anything else (an unknown visit, a history that is locked or another program's, a failed check); 130 interrupted.\n");
  return 0;
}

// 0, or the exit code; *done when there is nothing more to do.
static int take_option(void *user, int id, const char *value) {
  gn_visits_request *q = user;
  switch (id) {
  case GN_OPTION_FILE: q->words[q->n_words++] = value; break;
  case OPTION_DB: q->db = value; break;
  case OPTION_REPLACE: q->replace = true; break;
  case OPTION_YES: q->yes = true; break;
  case OPTION_SPECIES: q->species = value; break;
  case OPTION_JSON:
  case OPTION_HTML:
  case OPTION_PDF:
  case OPTION_TEXT: q->out[id - OPTION_JSON] = value; break;
  case OPTION_LINES: q->lines = true; break;
  case OPTION_FORCE: q->force = true; break;
  case OPTION_QUIET: q->quiet = true; break;
  case OPTION_HELP: q->done = true; return help();
  case OPTION_VERSION: q->done = true; return printf("girthline %s\n", girthline_version()) < 0;
  default: break;
  }
  return 0;
}

gn_store *gn_cli_visits_open(const gn_visits_request *q, gn_store_mode mode, int *code) {
  girthline_error error = {0};
  gn_store *store = NULL;
  char *place = NULL;
  girthline_status status = q->db ? GIRTHLINE_OK : gn_visits_place(mode == GN_STORE_CREATE, &place, &error);
  *code = 0;
  if (!status && !q->db && mode != GN_STORE_CREATE && access(place, F_OK) && (errno == ENOENT || errno == ENOTDIR)) {
    gn_cli_say("no visits are kept yet (%s is begun by the first girthline visits add)", place);
    gn_free(place);
    return NULL;
  }
  if (!status) status = gn_store_open(q->db ? q->db : place, mode, &store, &error);
  if (status) *code = gn_cli_fail(&error);
  gn_free(place);
  return store;
}

bool gn_cli_visits_id(const char *word, long long *id) {
  char *end;
  errno = 0;
  *id = strtoll(word, &end, 10);
  const bool plain = *word && strspn(word, "0123456789") == strlen(word);
  if (plain && !errno && *id > 0) return true;
  gn_cli_usage("visits", "%s is no visit's number: girthline visits list shows them", word);
  return false;
}

static void print_text(char *text) {
  if (text) fputs(text, stdout);
  else gn_cli_no_memory();
  gn_free(text);
}

static void list_animals(const gn_store_animals *animals) {
  char *text = animals->n ? gn_visits_animals_text(animals) : NULL;
  if (text) fputs(text, stderr);
  gn_free(text);
}

int gn_cli_visits_animal(gn_store *store, const gn_visits_request *q, long long visit, gn_store_animals *found) {
  girthline_error error = {0};
  if (!gn_visits_find(store, q->words[1], q->species, visit, found, &error)) return 0;
  const int code = gn_cli_fail(&error);
  list_animals(found);
  return code;
}

// The text of an examination: JSON as it is, anything else through the reader of examination files, whose recordings are
// named relative to it.
static int read_exam(const char *path, char **json, size_t *n) {
  girthline_error error = {0};
  girthline_status status = gn_input_text(path, EXAM_MOST_BYTES, json, n, &error);
  const bool is_json = !status && (*json)[strspn(*json, " \t\r\n")] == '{';
  if (!status && !is_json && !strcmp(path, "-"))
    return gn_cli_usage("visits", "standard input (-) takes an examination's JSON or an export; an examination file is given by its name, for its recordings lie beside it");
  if (!status && !is_json) {
    gn_free(*json);
    status = gn_exam_json_of_file(path, json, &error);
    *n = *json ? strlen(*json) : 0;
  }
  return status ? gn_cli_fail(&error) : 0;
}

static int say_added(const gn_visits_request *q, const gn_store *store, const gn_visits_adding *a) {
  if (a->outcome == GN_VISITS_SAME) gn_cli_say("%s is visit %lld already; nothing was changed", a->name, a->id);
  else if (!q->quiet) gn_cli_say("%s is visit %lld%s in %s", a->name, a->id, a->outcome == GN_VISITS_REPLACED ? " in the place of the old one," : "", gn_store_path(store));
  if (a->twin && !q->quiet) gn_cli_say("its recordings are those of visit %lld too; if its date was put right here, remove visit %lld", a->twin, a->twin);
  if (a->candidates.n && !q->quiet)
    gn_cli_say("a new animal was begun for it; if it is one listed here, remove visit %lld, write name and identifier as they stand here, and add it again", a->id);
  return 0;
}

static const char *name_of(const char *path) { return strcmp(path, "-") ? path : "standard input"; }

static girthline_status try_read(void *user, const char *json, size_t n, girthline_error *error) {
  gn_visits_exam exam;
  const girthline_status status = gn_visits_exam_read(json, n, user, &exam, error);
  if (!status) gn_visits_exam_clear(&exam);
  return status;
}

typedef struct adding {
  const gn_visits_request *q;
  gn_store *store;
  int worst;
} adding;

// One that is refused does not keep the others of an export out.
static girthline_status add_one(void *user, const char *json, size_t n, girthline_error *unused) {
  adding *all = user;
  girthline_error error = {0};
  gn_visits_adding a = {.json = json, .n_bytes = n, .name = name_of(all->q->words[1]), .replace = all->q->replace};
  (void)unused;
  const girthline_status status = gn_visits_add(all->store, &a, &error);
  const int code = status ? gn_cli_fail(&error) : say_added(all->q, all->store, &a);
  if (code || !all->q->quiet) list_animals(&a.candidates);
  gn_store_animals_clear(&a.candidates);
  if (code > all->worst) all->worst = code;
  return GIRTHLINE_OK;
}

static int add_read(const gn_visits_request *q, char *json, size_t n) {
  girthline_error error = {0};
  adding all = {.q = q};
  char *name = gn_strdup(name_of(q->words[1]));
  // All of it is read before a history is begun for it.
  girthline_status status = name ? gn_visits_each_exam(json, n, name, try_read, name, &error) : gn_error_memory(&error, "visits");
  gn_free(name);
  if (status) return gn_cli_fail(&error);
  all.store = gn_cli_visits_open(q, GN_STORE_CREATE, &all.worst);
  if (!all.store) return all.worst;
  status = gn_visits_each_exam(json, n, name_of(q->words[1]), add_one, &all, &error);
  gn_store_close(all.store);
  return status ? gn_cli_fail(&error) : all.worst;
}

static int add(const gn_visits_request *q) {
  char *json = NULL;
  size_t n = 0;
  int code = read_exam(q->words[1], &json, &n);
  if (!code) code = add_read(q, json, n);
  gn_free(json);
  return code;
}

static int list(const gn_visits_request *q) {
  int code;
  gn_store_animals found = {0};
  char *text = NULL;
  girthline_error error = {0};
  gn_store *store = gn_cli_visits_open(q, GN_STORE_READ, &code);
  if (!store) return code;
  if (q->n_words > 1) code = gn_cli_visits_animal(store, q, 0, &found);
  if (!code && gn_visits_list_text(store, found.n ? found.items[0].id : 0, gn_terminal_width(), &text, &error)) code = gn_cli_fail(&error);
  if (!code) print_text(text);
  gn_store_animals_clear(&found);
  gn_store_close(store);
  return code;
}

int gn_cli_visits_check_output(const gn_visits_request *q, const gn_store *store, const char *path) {
  const char *db = gn_store_path(store);
  char *beside[] = {gn_strprintf("%s-wal", db), gn_strprintf("%s-shm", db), gn_strprintf("%s-journal", db)};
  const char *const inputs[] = {db, beside[0], beside[1], beside[2]};
  const int code = beside[0] && beside[1] && beside[2] ? gn_output_check(path, inputs, 4, q->force) : gn_cli_no_memory();
  for (size_t i = 0; i < 3; i++) gn_free(beside[i]);
  return code;
}

static int write_shown(const gn_visits_request *q, gn_store *store, long long id) {
  girthline_error error = {0};
  char *text = NULL;
  int code = 0;
  const char *json = q->out[GN_VISITS_JSON], *into = q->out[GN_VISITS_TEXT];
  if (json && into && gn_output_is_same(json, into)) return gn_cli_usage("visits", "--json and --text name the same file");
  if (json) {
    if (gn_visits_exam_of(store, id, &text, NULL, &error)) return gn_cli_fail(&error);
    code = gn_cli_visits_check_output(q, store, json);
    if (!code) code = gn_output_write(json, text, strlen(text));
    gn_free(text);
    if (code || !into) return code;
  }
  if (gn_visits_show_text(store, id, into && !gn_output_is_stdout(into) ? 80 : gn_terminal_width(), &text, &error)) return gn_cli_fail(&error);
  if (into) code = gn_cli_visits_check_output(q, store, into);
  if (!code) code = gn_output_write(into ? into : "-", text, strlen(text));
  gn_free(text);
  return code;
}

static int show(const gn_visits_request *q) {
  int code;
  long long id;
  if (!gn_cli_visits_id(q->words[1], &id)) return GN_EXIT_USAGE;
  gn_store *store = gn_cli_visits_open(q, GN_STORE_READ, &code);
  if (!store) return code ? code : GN_EXIT_OTHER; // the visit asked for is not there
  code = write_shown(q, store, id);
  gn_store_close(store);
  return code;
}

typedef struct exporting {
  gn_store *store;
  bool lines;
  int fd;
} exporting;

static int sink(void *user, const char *text, size_t n) { return gn_file_put(((const exporting *)user)->fd, text, n); }

static int fill_export(int fd, void *user) {
  exporting *x = user;
  girthline_error error = {0};
  int code = 0;
  x->fd = fd;
  const girthline_status status = gn_visits_export(x->store, x->lines, sink, x, &code, &error);
  return code || !status ? code : gn_cli_fail(&error);
}

static int export_all(const gn_visits_request *q) {
  int code;
  const char *path = q->n_words > 1 ? q->words[1] : q->out[GN_VISITS_JSON] ? q->out[GN_VISITS_JSON] : "-";
  gn_store *store = gn_cli_visits_open(q, GN_STORE_READ, &code);
  if (!store) return code;
  exporting x = {store, q->lines, -1};
  code = gn_cli_visits_check_output(q, store, path);
  if (!code) code = gn_output_stream(path, fill_export, &x);
  gn_store_close(store);
  return code;
}

static void say_fault(void *user, const char *fault) {
  (void)user;
  gn_cli_say("%s", fault);
}

static int check(const gn_visits_request *q) {
  int code;
  size_t n_faults = 0;
  girthline_error error = {0};
  gn_store *store = gn_cli_visits_open(q, GN_STORE_READ, &code);
  if (!store) return code;
  if (gn_visits_check(store, say_fault, NULL, &n_faults, &error)) code = gn_cli_fail(&error);
  else if (n_faults) code = GN_EXIT_OTHER, gn_cli_say("%s: %zu faults; keep a copy of it, and go on from a backup or an export", gn_store_path(store), n_faults);
  else if (!q->quiet) printf("%s is whole\n", gn_store_path(store));
  gn_store_close(store);
  return code;
}

// Which outputs an action has, as bits of GN_VISITS_JSON and so on.
enum { AS_JSON = 1 << GN_VISITS_JSON, AS_HTML = 1 << GN_VISITS_HTML, AS_PDF = 1 << GN_VISITS_PDF, AS_TEXT = 1 << GN_VISITS_TEXT };

static const struct {
  const char *name;
  int (*run)(const gn_visits_request *);
  size_t least, most; // arguments
  const char *arguments;
  int outputs;
} ACTIONS[] = {
    {"add", add, 1, 1, "one examination", 0},
    {"list", list, 0, 1, "at most one animal", 0},
    {"show", show, 1, 1, "one visit's number", AS_JSON | AS_TEXT},
    {"compare", gn_cli_visits_compare, 1, 3, "an animal, and two of its visits' numbers or none", AS_JSON | AS_HTML | AS_PDF | AS_TEXT},
    {"export", export_all, 0, 1, "at most one output", AS_JSON},
    {"check", check, 0, 0, "no argument", 0},
    {"remove", gn_cli_visits_remove, 1, 1, "one visit's number", 0},
};
enum { N_ACTIONS = sizeof ACTIONS / sizeof *ACTIONS };

// What would be passed over is refused: nobody shall wait for a file that is not written.
static int check_options(const gn_visits_request *q, size_t action) {
  static const char *const NAMES[GN_VISITS_N_OUT] = {"json", "html", "pdf", "text"};
  const char *name = ACTIONS[action].name;
  for (int i = 0; i < GN_VISITS_N_OUT; i++)
    if (q->out[i] && !(ACTIONS[action].outputs & 1 << i)) return gn_cli_usage("visits", "%s has no --%s", name, NAMES[i]);
  if (q->replace && strcmp(name, "add")) return gn_cli_usage("visits", "--replace belongs to add");
  if (q->lines && strcmp(name, "export")) return gn_cli_usage("visits", "--lines belongs to export");
  if (q->yes && strcmp(name, "remove")) return gn_cli_usage("visits", "--yes belongs to remove");
  return 0;
}

static int run(const gn_visits_request *q) {
  const char *names[N_ACTIONS];
  if (!q->n_words) return gn_cli_usage("visits", "say what to do: add, list, show, compare, export, check or remove");
  for (size_t i = 0; i < N_ACTIONS; i++) {
    names[i] = ACTIONS[i].name;
    if (strcmp(q->words[0], names[i])) continue;
    if (q->n_words - 1 < ACTIONS[i].least || q->n_words - 1 > ACTIONS[i].most) return gn_cli_usage("visits", "%s takes %s", names[i], ACTIONS[i].arguments);
    const int code = check_options(q, i);
    return code ? code : ACTIONS[i].run(q);
  }
  const char *near = gn_cli_nearest(q->words[0], names, N_ACTIONS);
  if (near) return gn_cli_usage("visits", "unknown action %s: did you mean %s?", q->words[0], near);
  return gn_cli_usage("visits", "unknown action %s: add, list, show, compare, export, check or remove", q->words[0]);
}

int gn_cli_visits(int argc, char **argv) {
  gn_visits_request q = {.words = gn_new((size_t)argc, sizeof *q.words)};
  if (!q.words) return gn_cli_no_memory();
  int code = gn_options_each(argc, argv, TABLE, N_TABLE, take_option, &q, &q.done);
  if (!code && !q.done) code = run(&q);
  gn_free(q.words);
  return code;
}
