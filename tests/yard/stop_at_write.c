/* A file layer that stops: at the n-th write (STOP_AT_WRITE) of the process it writes half of it, or all
   (STOP_WHOLE), and kills the process. Preloaded; the environment is read at each call. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/types.h>
#include <unistd.h>

static long seen;

static int stops(void) {
    const char *at = getenv("STOP_AT_WRITE");
    if (!at) return 0;
    seen++;
    return seen == atol(at);
}

static void die(void) { kill(getpid(), SIGKILL); }

ssize_t pwrite64(int fd, const void *buf, size_t n, off_t at) {
    ssize_t (*real)(int, const void *, size_t, off_t) = dlsym(RTLD_NEXT, "pwrite64");
    if (stops()) {
        real(fd, buf, getenv("STOP_WHOLE") ? n : n / 2, at);
        die();
    }
    return real(fd, buf, n, at);
}

ssize_t pwrite(int fd, const void *buf, size_t n, off_t at) { return pwrite64(fd, buf, n, at); }

int fsync(int fd) {
    int (*real)(int) = dlsym(RTLD_NEXT, "fsync");
    if (stops()) die();
    return real(fd);
}

int fdatasync(int fd) {
    int (*real)(int) = dlsym(RTLD_NEXT, "fdatasync");
    if (stops()) die();
    return real(fd);
}

int ftruncate64(int fd, off_t n) {
    int (*real)(int, off_t) = dlsym(RTLD_NEXT, "ftruncate64");
    if (stops()) die();
    return real(fd, n);
}

int ftruncate(int fd, off_t n) { return ftruncate64(fd, n); }

long writes_seen(void) { return seen; }
