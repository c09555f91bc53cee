/*
 * Preloaded before a program, keeps beside its data folder what a power cut would leave of it: the bytes of a file as they
 * were when it was last synced, the names in a folder as they were when that folder was. Everything else is dropped.
 *
 *   HOLD_FOLDER  the data folder          HOLD_MEDIUM  where to keep what is on the medium
 *   HOLD_KILL_AT the how manieth sync is the last: SIGKILL comes before it (odd HOLD_KILL_HOW) or right after it (even)
 *
 * medium/files/KEY is a file's content, medium/folders/KEY has a line "NAME KEY" for each name; KEY is inode and birth.
 */
#define _GNU_SOURCE
#include <dirent.h>
#include <dlfcn.h>
#include <fcntl.h>
#include <limits.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static pthread_mutex_t turn = PTHREAD_MUTEX_INITIALIZER;
static long syncs = 0;

static int key_at(int folder, const char *name, int flags, char *key, size_t size, int *is_folder) {
  struct statx found;
  if (statx(folder, name, flags, STATX_BASIC_STATS | STATX_BTIME, &found) != 0) return -1;
  *is_folder = S_ISDIR(found.stx_mode);
  snprintf(key, size, "%llu-%lld-%u", (unsigned long long)found.stx_ino, (long long)found.stx_btime.tv_sec,
           found.stx_btime.tv_nsec);
  return 0;
}

static FILE *begin(const char *medium, const char *kind, const char *key, char *path, char *made) {
  snprintf(path, PATH_MAX, "%s/%s/%s", medium, kind, key);
  snprintf(made, PATH_MAX, "%s/%s/.new-%s", medium, kind, key);
  return fopen(made, "w");
}

/* Takes the place of the older state at once, so that a kill in the middle leaves the older one. */
static void end(FILE *out, const char *path, const char *made) {
  if (fclose(out) != 0 || rename(made, path) != 0) abort();
}

static void keep_file(int fd, const char *medium, const char *key) {
  char path[PATH_MAX], made[PATH_MAX], bytes[65536];
  FILE *out = begin(medium, "files", key, path, made);
  if (out == NULL) abort();
  off_t at = 0;
  char own[64];
  snprintf(own, sizeof own, "/proc/self/fd/%d", fd);
  int in = open(own, O_RDONLY);
  if (in < 0) abort();
  for (ssize_t got; (got = pread(in, bytes, sizeof bytes, at)) > 0; at += got) fwrite(bytes, 1, (size_t)got, out);
  close(in);
  end(out, path, made);
}

static void keep_folder(const char *folder, const char *medium, const char *key) {
  char path[PATH_MAX], made[PATH_MAX];
  FILE *out = begin(medium, "folders", key, path, made);
  DIR *names = opendir(folder);
  if (out == NULL || names == NULL) abort();
  for (struct dirent *one; (one = readdir(names)) != NULL;) {
    char other[96];
    int is_folder;
    if (strcmp(one->d_name, ".") == 0 || strcmp(one->d_name, "..") == 0) continue;
    if (key_at(dirfd(names), one->d_name, AT_SYMLINK_NOFOLLOW, other, sizeof other, &is_folder) != 0) continue;
    fprintf(out, "%s %s %s\n", is_folder ? "folder" : "file", other, one->d_name);
  }
  closedir(names);
  end(out, path, made);
}

static int synced(int fd, const char *call) {
  const char *folder = getenv("HOLD_FOLDER"), *medium = getenv("HOLD_MEDIUM");
  int (*real)(int) = (int (*)(int))dlsym(RTLD_NEXT, call);
  char own[64], path[PATH_MAX], key[96];
  snprintf(own, sizeof own, "/proc/self/fd/%d", fd);
  ssize_t length = readlink(own, path, sizeof path - 1);
  if (length <= 0 || folder == NULL || medium == NULL) return real(fd);
  path[length] = '\0';
  size_t inside = strlen(folder);
  if (strncmp(path, folder, inside) != 0 || (path[inside] != '/' && path[inside] != '\0')) return real(fd);

  pthread_mutex_lock(&turn);
  syncs += 1;
  const char *at = getenv("HOLD_KILL_AT"), *how = getenv("HOLD_KILL_HOW");
  int is_last = at != NULL && syncs == atol(at);
  if (is_last && how != NULL && atol(how) % 2 == 1) kill(getpid(), SIGKILL);
  int is_folder;
  if (key_at(fd, "", AT_EMPTY_PATH, key, sizeof key, &is_folder) != 0) abort();
  if (is_folder) keep_folder(path, medium, key);
  else keep_file(fd, medium, key);
  if (is_last) kill(getpid(), SIGKILL);
  pthread_mutex_unlock(&turn);
  return 0;
}

int fdatasync(int fd) { return synced(fd, "fdatasync"); }
int fsync(int fd) { return synced(fd, "fsync"); }
