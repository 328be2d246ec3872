// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "clinic/visits.h"

#include <errno.h>
#include <pwd.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/error.h"
#include "base/memory.h"

#define STAGE "visits"
#define OWNER_ONLY 0700 // the specification's own value, and what is kept of an animal is its owner's business

static const char *home_folder(void) {
  const char *home = getenv("HOME");
  if (home && home[0] == '/') return home;
  const struct passwd *entry = getpwuid(getuid()); // one thread asks
  return entry && entry->pw_dir && entry->pw_dir[0] == '/' ? entry->pw_dir : NULL;
}

static girthline_status make_folder(const char *folder, girthline_error *error) {
  struct stat st;
  if (!mkdir(folder, OWNER_ONLY) || (!stat(folder, &st) && S_ISDIR(st.st_mode))) return GIRTHLINE_OK;
  return gn_error_set(error, GIRTHLINE_CANNOT_WRITE, STAGE, "the folder %s for the visit history cannot be made: %s; name a file elsewhere with --db", folder,
                      errno == EEXIST ? "a file of that name is in the way" : strerror(errno));
}

// Every folder of the path, from the outermost on.
static girthline_status make_folders(char *path, girthline_error *error) {
  girthline_status status = GIRTHLINE_OK;
  for (char *slash = strchr(path + 1, '/'); slash && !status; slash = strchr(slash + 1, '/')) {
    *slash = 0;
    status = make_folder(path, error);
    *slash = '/';
  }
  return status;
}

girthline_status gn_visits_place(bool make, char **path, girthline_error *error) {
  const char *data = getenv("XDG_DATA_HOME"), *home = NULL;
  *path = NULL;
  if (!data || data[0] != '/') {
    data = NULL;
    home = home_folder();
    if (!home) return gn_error_set(error, GIRTHLINE_REFUSED, STAGE, "there is no home folder to keep the visit history in: name a file with --db");
  }
  char *place = gn_strprintf("%s%s/girthline/visits.db", data ? data : home, data ? "" : "/.local/share");
  if (!place) return gn_error_memory(error, STAGE);
  const girthline_status status = make ? make_folders(place, error) : GIRTHLINE_OK;
  if (status) gn_free(place);
  else *path = place;
  return status;
}
