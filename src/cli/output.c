// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/output.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "cli/interrupt.h"
#include "cli/say.h"
#include "cli/terminal.h"

bool gn_output_is_stdout(const char *path) { return !strcmp(path, "-"); }

// Where each kind says who wrote it: a JSON report in its first key, a page in its head, a text in its last line,
// a sound in its last chunk, a document
// and a picture in their metadata.
#define LOOK_BYTES 65536

static bool says_so(const char *text, size_t n) {
  static const char JSON[] = "{\n  \"schema\": \"girthline.", PAGE[] = "<meta name=\"generator\" content=\"girthline\">", TEXT[] = "\nWritten by girthline ";
  static const char SOUND[] = "girthline marked"; // in the software tag, the last chunk
  static const char DOCUMENT[] = "/Creator (girthline)", SVG[] = "<desc>Written by girthline ", PNG[] = "tEXtSoftware\0girthline";
  static const char LINE[] = "{\"schema\": \"girthline.";
  if (n >= sizeof LINE - 1 && !memcmp(text, LINE, sizeof LINE - 1)) return true; // JSON by lines
  return (n >= sizeof JSON - 1 && !memcmp(text, JSON, sizeof JSON - 1)) || memmem(text, n, PAGE, sizeof PAGE - 1) ||
         memmem(text, n, TEXT, sizeof TEXT - 1) || (n > 12 && !memcmp(text, "RIFF", 4) && memmem(text, n, SOUND, sizeof SOUND)) ||
         (n > 5 && !memcmp(text, "%PDF-", 5) && memmem(text, n, DOCUMENT, sizeof DOCUMENT - 1)) ||
         (n > 5 && !memcmp(text, "<?xml", 5) && memmem(text, n, SVG, sizeof SVG - 1)) ||
         (n > 4 && !memcmp(text, "\x89PNG", 4) && memmem(text, n, PNG, sizeof PNG - 1));
}

static size_t read_some(int fd, char *to, size_t most) {
  size_t n = 0;
  ssize_t got;
  while (n < most && (got = read(fd, to + n, most - n)) != 0) {
    if (got < 0 && errno != EINTR) break;
    if (got > 0) n += (size_t)got;
  }
  return n;
}

bool gn_output_is_ours(const char *path) {
  char text[2 * LOOK_BYTES]; // not asked for: a refusal would make the file a stranger's
  const int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
  size_t n = 0;
  if (fd >= 0) {
    n = read_some(fd, text, LOOK_BYTES);
    const off_t size = n == LOOK_BYTES ? lseek(fd, 0, SEEK_END) : 0;
    if (size > LOOK_BYTES && lseek(fd, size < 2 * LOOK_BYTES ? LOOK_BYTES : size - LOOK_BYTES, SEEK_SET) > 0) n += read_some(fd, text + n, LOOK_BYTES);
    close(fd);
  }
  return n && says_so(text, n);
}

static bool is_plain(const struct stat *st) { return S_ISREG(st->st_mode); }

// The folder a path stands in; NULL when memory is refused.
static char *folder_of(const char *path) {
  const char *slash = strrchr(path, '/');
  if (!slash) return gn_strdup(".");
  return gn_strprintf("%.*s", slash == path ? 1 : (int)(slash - path), path);
}

static int check_folder(const char *path) {
  char *folder = folder_of(path);
  struct stat st;
  int code = GN_EXIT_OTHER;
  if (!folder) gn_cli_say("memory was refused while looking at %s", path);
  else if (stat(folder, &st)) code = GN_EXIT_OUTPUT, gn_cli_say("%s cannot be written: the folder %s: %s; make the folder first", path, folder, strerror(errno));
  else if (!S_ISDIR(st.st_mode)) code = GN_EXIT_OUTPUT, gn_cli_say("%s cannot be written: %s is not a folder", path, folder);
  else if (access(folder, W_OK | X_OK)) code = GN_EXIT_OUTPUT, gn_cli_say("%s cannot be written: the folder %s: %s; name another one", path, folder, strerror(errno));
  else code = 0;
  gn_free(folder);
  return code;
}

// The name within its folder, whose standing is given; NULL where there is no such folder or its name is too long for one.
static const char *name_in(const char *path, struct stat *folder) {
  char text[PATH_MAX];
  const char *slash = strrchr(path, '/');
  const size_t n = slash ? (size_t)(slash - path) + 1 : 0;
  if (n >= sizeof text) return NULL;
  memcpy(text, path, n);
  text[n] = '\0';
  return stat(n ? text : ".", folder) ? NULL : path + n;
}

bool gn_output_is_same(const char *a, const char *b) {
  struct stat at, bt;
  if (!strcmp(a, b)) return true;
  if (gn_output_is_stdout(a) || gn_output_is_stdout(b)) return false;
  if (!stat(a, &at) || !stat(b, &bt)) return gn_file_is_same(a, b);
  const char *a_name = name_in(a, &at), *b_name = name_in(b, &bt);
  return a_name && b_name && at.st_dev == bt.st_dev && at.st_ino == bt.st_ino && !strcmp(a_name, b_name);
}

int gn_output_folder(const char *folder) {
  struct stat st;
  if (!folder || !*folder || !stat(folder, &st) || errno != ENOENT || !mkdir(folder, 0777)) return 0; // what is no folder is told with the path
  gn_cli_say("the folder %s cannot be made: %s%s", folder, strerror(errno), errno == ENOENT ? "; make the folder above it first" : "");
  return GN_EXIT_OUTPUT;
}

int gn_output_check(const char *path, const char *const *inputs, size_t n_inputs, bool force) {
  if (gn_output_is_stdout(path)) return 0;
  struct stat st;
  if (!*path) {
    gn_cli_say("an output's name is empty: name a file, or - for standard output");
    return GN_EXIT_USAGE;
  }
  if (stat(path, &st)) return check_folder(path);
  if (S_ISDIR(st.st_mode)) {
    gn_cli_say("%s cannot be written: it is a folder; name a file in it", path);
    return GN_EXIT_OUTPUT;
  }
  for (size_t i = 0; i < n_inputs; i++)
    if (gn_file_is_same(path, inputs[i])) {
      gn_cli_say(GN_FILE_IS_INPUT, path);
      return GN_EXIT_USAGE;
    }
  if (S_ISBLK(st.st_mode) || S_ISSOCK(st.st_mode)) {
    gn_cli_say("%s cannot be written: it is a %s; name a file", path, S_ISBLK(st.st_mode) ? "disk" : "socket");
    return GN_EXIT_OUTPUT;
  }
  if (!is_plain(&st)) return 0;
  if (!force && st.st_size && !gn_output_is_ours(path)) {
    gn_cli_say("%s exists and was not written by girthline: name another output, or overwrite it with --force", path);
    return GN_EXIT_OUTPUT;
  }
  return check_folder(path);
}

static int cannot(const char *path) {
  gn_cli_say("%s cannot be written: %s; free some room or name another place", path, strerror(errno));
  return GN_EXIT_OUTPUT;
}

static int no_memory(const char *path) {
  gn_cli_say("memory was refused while writing %s", path);
  return GN_EXIT_OTHER;
}

static int stream_to_stdout(gn_fill fill, void *user) {
  const int code = fill(STDOUT_FILENO, user);
  if (code >= 0) return code;
  gn_cli_say("standard output cannot be written: %s", strerror(errno));
  return GN_EXIT_OUTPUT;
}

#define PIPE_WAIT_MS 3000 // for somebody to read from a named pipe; a choice
#define PIPE_STEP_MS 20

// A pipe that nobody reads from would be waited for without end.
static int open_device(const char *path) {
  int fd;
  for (int left_ms = PIPE_WAIT_MS; (fd = open(path, O_WRONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY)) < 0 && errno == ENXIO && left_ms > 0; left_ms -= PIPE_STEP_MS)
    poll(NULL, 0, PIPE_STEP_MS);
  if (fd >= 0) fcntl(fd, F_SETFL, fcntl(fd, F_GETFL) & ~O_NONBLOCK);
  return fd;
}

static int stream_to_device(const char *path, gn_fill fill, void *user) {
  const int fd = open_device(path);
  if (fd < 0 && errno == ENXIO) {
    gn_cli_say("%s cannot be written: it is a pipe that nobody reads from", path);
    return GN_EXIT_OUTPUT;
  }
  if (fd < 0) return cannot(path);
  const int code = fill(fd, user), reason = errno;
  if (close(fd) && !code) return cannot(path);
  errno = reason;
  return code < 0 ? cannot(path) : code;
}

// A name of its own beside the target, short whatever the target's name is. -1: errno, ENOMEM where memory was refused.
static int create_beside(const char *folder, char **name) {
  for (unsigned k = 0; k < 1000; k++) {
    *name = gn_strprintf("%s/.girthline-%ld-%u.tmp", folder, (long)getpid(), k);
    if (!*name) {
      errno = ENOMEM;
      return -1;
    }
    const int fd = gn_interrupt_create(*name);
    if (fd >= 0 || errno != EEXIST) return fd;
    gn_free(*name);
    *name = NULL;
  }
  return -1;
}

void gn_output_sweep(const char *folder) {
  DIR *d = opendir(folder);
  const struct dirent *entry;
  while (d && (entry = readdir(d))) {
    long pid;
    unsigned k;
    int used = 0;
    if (sscanf(entry->d_name, ".girthline-%ld-%u.tmp%n", &pid, &k, &used) != 2 || !used || entry->d_name[used] || pid <= 0) continue;
    if (kill((pid_t)pid, 0) && errno == ESRCH) unlinkat(dirfd(d), entry->d_name, 0);
  }
  if (d) closedir(d);
}

// Keeps the rights of the file that is replaced; the bytes are on the disk before the name is.
static int settle(int fd, const char *path) {
  struct stat st;
  if (!stat(path, &st) && fchmod(fd, st.st_mode & 07777)) return -1;
  return fsync(fd);
}

static int fill_and_rename(int fd, const char *temporary, const char *path, gn_fill fill, void *user) {
  int code = fill(fd, user);
  if (!code) code = settle(fd, path);
  const int reason = errno;
  if (close(fd) && !code) return -1;
  errno = reason;
  return code ? code : rename(temporary, path);
}

static void sync_folder(const char *folder) {
  const int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (fd < 0) return;
  fsync(fd);
  close(fd);
}

static int stream_beside(const char *path, gn_fill fill, void *user) {
  char *folder = folder_of(path), *temporary = NULL;
  if (!folder) return no_memory(path);
  const int fd = create_beside(folder, &temporary);
  int code = fd >= 0 ? fill_and_rename(fd, temporary, path, fill, user) : errno == ENOMEM ? no_memory(path) : cannot(path);
  if (fd >= 0 && code) {
    if (code < 0) code = cannot(path);
    unlink(temporary);
  } else if (!code) {
    sync_folder(folder);
  }
  gn_interrupt_forget();
  gn_free(temporary);
  gn_free(folder);
  return code;
}

int gn_output_stream(const char *path, gn_fill fill, void *user) {
  struct stat st;
  if (gn_output_is_stdout(path)) return stream_to_stdout(fill, user);
  if (!stat(path, &st) && !is_plain(&st)) return stream_to_device(path, fill, user);
  char *real = realpath(path, NULL); // through a symbolic link to the file it names
  const int code = stream_beside(real ? real : path, fill, user);
  free(real);
  return code;
}

typedef struct bytes {
  const void *data;
  size_t n;
} bytes;

static int fill_bytes(int fd, void *user) {
  const bytes *b = user;
  return gn_file_put(fd, b->data, b->n);
}

// For a terminal of other signs: the minus sign becomes a dash, which every one has.
static int fill_plain(int fd, void *user) {
  static const char MINUS[] = "\xE2\x88\x92";
  const bytes *b = user;
  const char *at = b->data, *const end = at + b->n, *minus;
  while ((minus = memmem(at, (size_t)(end - at), MINUS, sizeof MINUS - 1))) {
    if (gn_file_put(fd, at, (size_t)(minus - at)) || gn_file_put(fd, "-", 1)) return -1;
    at = minus + sizeof MINUS - 1;
  }
  return gn_file_put(fd, at, (size_t)(end - at));
}

bool gn_output_says_other_sound(const char *path) {
  static const char *const ENDINGS[] = {"w64", "aif", "aiff", "aifc", "flac", "ogg", "oga", "opus", "mp3", "mp2", "caf", "au", "snd", "m4a", "mp4", "aac",
                                        "3gp", "wma", "mov"};
  return gn_file_ends_in(path, ENDINGS, sizeof ENDINGS / sizeof *ENDINGS);
}

int gn_output_write(const char *path, const void *data, size_t n) {
  bytes b = {data, n};
  return gn_output_stream(path, gn_output_is_stdout(path) && gn_terminal_is_plain() ? fill_plain : fill_bytes, &b);
}
