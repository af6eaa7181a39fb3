/* Keeps beside each file what was surely on the disk: its content when it was last synced.
 *
 * Loaded before the C library (LD_PRELOAD). After each fsync or fdatasync of a file whose name
 * begins with $SYNCED_ONLY the whole file is copied to its name with ".synced". A power cut is then
 * played by putting those copies back: everything that was written and not synced is gone.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static void keep(int fd) {
    const char *only = getenv("SYNCED_ONLY");
    char link[64], path[4000], making[4100], kept[4100], block[65536];
    ssize_t length, got;
    int in, out;
    if (!only) return;
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    length = readlink(link, path, sizeof path - 1);
    if (length < 0) return;
    path[length] = 0;
    if (strncmp(path, only, strlen(only))) return;
    snprintf(making, sizeof making, "%s.making", path);
    snprintf(kept, sizeof kept, "%s.synced", path);
    in = open(path, O_RDONLY | O_CLOEXEC);
    out = open(making, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    if (in < 0 || out < 0) abort();
    while ((got = read(in, block, sizeof block)) > 0)
        if (write(out, block, (size_t)got) != got) abort();
    close(in);
    close(out);
    if (rename(making, kept)) abort();
}

int fsync(int fd) {
    int (*real)(int) = (int (*)(int))dlsym(RTLD_NEXT, "fsync");
    int done = real(fd);
    if (!done) keep(fd);
    return done;
}

int fdatasync(int fd) {
    int (*real)(int) = (int (*)(int))dlsym(RTLD_NEXT, "fdatasync");
    int done = real(fd);
    if (!done) keep(fd);
    return done;
}
