#include "harm/tracer.hpp"

#include <fcntl.h>
#include <linux/audit.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <sys/prctl.h>
#include <sys/ptrace.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <sys/user.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <csignal>
#include <cstddef>
#include <cstdlib>
#include <fstream>
#include <iterator>

namespace breakstep::harm {

namespace {

enum class By { descriptor, path, path_at, paths, paths_at };
struct Call {
    long number;
    const char* name;
    By by;
    bool grows;
    bool reads = false;
};
// Those that write, rename, truncate, sync or unlink, open and openat where they make or empty a file; and those that
// read.
constexpr Call calls[] = {
    {SYS_write, "write", By::descriptor, true},
    {SYS_pwrite64, "pwrite", By::descriptor, true},
    {SYS_writev, "writev", By::descriptor, true},
    {SYS_pwritev, "pwritev", By::descriptor, true},
    {SYS_open, "open", By::path, true},
    {SYS_openat, "openat", By::path_at, true},
    {SYS_creat, "creat", By::path, true},
    {SYS_truncate, "truncate", By::path, true},
    {SYS_ftruncate, "ftruncate", By::descriptor, true},
    {SYS_fallocate, "fallocate", By::descriptor, true},
    {SYS_fsync, "fsync", By::descriptor, false},
    {SYS_fdatasync, "fdatasync", By::descriptor, false},
    {SYS_rename, "rename", By::paths, false},
    {SYS_renameat, "renameat", By::paths_at, false},
    {SYS_renameat2, "renameat2", By::paths_at, false},
    {SYS_link, "link", By::paths, true},
    {SYS_linkat, "linkat", By::paths_at, true},
    {SYS_symlink, "symlink", By::paths, true},
    {SYS_unlink, "unlink", By::path, false},
    {SYS_unlinkat, "unlinkat", By::path_at, false},
    {SYS_mkdir, "mkdir", By::path, true},
    {SYS_mkdirat, "mkdirat", By::path_at, true},
    {SYS_rmdir, "rmdir", By::path, false},
    {SYS_read, "read", By::descriptor, false, true},
    {SYS_pread64, "pread", By::descriptor, false, true},
};
constexpr std::size_t call_count = std::size(calls);

// Reads, the last two, are many: only where they are asked for.
void ask_to_be_traced(bool reads) {
    const std::size_t asked = reads ? call_count : call_count - 2;
    std::array<sock_filter, call_count + 3> program{};
    std::size_t at = 0;
    program[at++] = BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(seccomp_data, nr));
    for (std::size_t i = 0; i < asked; ++i)
        program[at++] = BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, static_cast<unsigned>(calls[i].number),
                                 static_cast<unsigned char>(asked - i), 0);
    program[at++] = BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW);
    program[at++] = BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_TRACE);
    const sock_fprog filter{static_cast<unsigned short>(at), program.data()};
    ptrace(PTRACE_TRACEME, 0, nullptr, nullptr);
    raise(SIGSTOP);
    prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0);
    prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &filter);
}

[[noreturn]] void become(const std::vector<std::string>& words, const std::string& folder, int output, bool reads) {
    if (chdir(folder.c_str()) != 0) _exit(126);
    setenv("HOME", folder.c_str(), 1);
    for (const char* name :
         {"XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_STATE_HOME", "BREAKSTEP_CONFIG"})
        unsetenv(name);
    dup2(output, STDOUT_FILENO);
    dup2(output, STDERR_FILENO);
    const int nothing = open("/dev/null", O_RDONLY);
    dup2(nothing, STDIN_FILENO);
    std::vector<char*> arguments;
    for (const std::string& word : words) arguments.push_back(const_cast<char*>(word.c_str()));
    arguments.push_back(nullptr);
    ask_to_be_traced(reads);
    execv(arguments[0], arguments.data());
    _exit(127);
}

std::string text_of(pid_t thread, unsigned long long address) {
    std::string text(512, '\0');
    const iovec here{text.data(), text.size()};
    // Up to the end of the page, should the next one not be there.
    iovec there{reinterpret_cast<void*>(address), std::min<std::size_t>(text.size(), 4096 - address % 4096)};
    const ssize_t got = process_vm_readv(thread, &here, 1, &there, 1, 0);
    text.resize(got > 0 ? static_cast<std::size_t>(got) : 0);
    return text.substr(0, text.find('\0'));
}

std::string file_of(pid_t thread, unsigned long long descriptor) {
    std::array<char, 512> name{};
    const std::string link = "/proc/" + std::to_string(thread) + "/fd/" + std::to_string(descriptor);
    const ssize_t length = readlink(link.c_str(), name.data(), name.size());
    return length > 0 ? std::string(name.data(), static_cast<std::size_t>(length)) : "";
}

/// The file that the call changes, or "" if it changes none.
std::string changed_by(pid_t thread, const Call& call, const user_regs_struct& registers) {
    const unsigned long long flags = call.number == SYS_open ? registers.rsi : registers.rdx;
    if ((call.number == SYS_open || call.number == SYS_openat) && (flags & (O_CREAT | O_TRUNC)) == 0) return "";
    switch (call.by) {
        case By::descriptor:
            return file_of(thread, registers.rdi);
        case By::path:
        case By::paths:
            return text_of(thread, registers.rdi);
        case By::path_at:
        case By::paths_at:
            return text_of(thread, registers.rsi);
    }
    return "";
}

class Tracing {
  public:
    Tracing(std::string folder, Fault fault, Outcome& outcome)
        : folder_(std::move(folder)), fault_(fault), outcome_(outcome) {}

    void follow(pid_t child) {
        int status = 0;
        waitpid(child, &status, 0);
        ptrace(
            PTRACE_SETOPTIONS, child, nullptr,
            PTRACE_O_TRACESECCOMP | PTRACE_O_TRACECLONE | PTRACE_O_TRACEFORK | PTRACE_O_TRACEVFORK | PTRACE_O_EXITKILL);
        ptrace(PTRACE_CONT, child, nullptr, nullptr);
        for (;;) {
            const pid_t thread = waitpid(-1, &status, __WALL);
            if (thread < 0) return;
            if (WIFEXITED(status) || WIFSIGNALED(status)) {
                if (thread != child) continue;
                if (WIFEXITED(status)) outcome_.code = WEXITSTATUS(status);
                if (WIFSIGNALED(status)) outcome_.signal = WTERMSIG(status);
                // Threads of an ended program have ended too; wait for what is left of them.
                continue;
            }
            if (!WIFSTOPPED(status)) continue;
            go_on(child, thread, status);
        }
    }

  private:
    void go_on(pid_t child, pid_t thread, int status) {
        long deliver = 0;
        if (status >> 8 == (SIGTRAP | (PTRACE_EVENT_SECCOMP << 8)))
            met(child, thread);
        else if (WSTOPSIG(status) != SIGTRAP && WSTOPSIG(status) != SIGSTOP)
            deliver = WSTOPSIG(status);
        ptrace(PTRACE_CONT, thread, nullptr, deliver);
    }

    // To open what is there takes no room, however full the disk is.
    static bool takes_room(const Call& call, const std::string& file) {
        const bool opens = call.number == SYS_open || call.number == SYS_openat || call.number == SYS_creat;
        return call.grows && !(opens && access(file.c_str(), F_OK) == 0);
    }

    void met(pid_t child, pid_t thread) {
        user_regs_struct registers{};
        if (ptrace(PTRACE_GETREGS, thread, nullptr, &registers) != 0) return;
        for (const Call& call : calls) {
            if (call.number != static_cast<long>(registers.orig_rax)) continue;
            const std::string file = changed_by(thread, call, registers);
            if (file.empty() || (file.front() == '/' && !file.starts_with(folder_))) return;
            int& counted = call.reads ? outcome_.reads : outcome_.calls;
            ++counted;
            if (call.reads != (fault_.kind == Fault::Kind::unread)) return;
            const bool now = counted == fault_.at;
            const bool refused = (now && fault_.kind != Fault::Kind::kill && fault_.kind != Fault::Kind::full) ||
                                 (fault_.kind == Fault::Kind::full && counted >= fault_.at && takes_room(call, file));
            if (now) outcome_.at_call = std::string(call.name) + " " + file;
            if (fault_.kind == Fault::Kind::kill && now) kill(child, SIGKILL);
            if (!refused) return;
            registers.orig_rax = static_cast<unsigned long long>(-1);
            registers.rax = static_cast<unsigned long long>(call.reads ? -EIO : -ENOSPC);
            ptrace(PTRACE_SETREGS, thread, nullptr, &registers);
            return;
        }
    }

    std::string folder_;
    Fault fault_;
    Outcome& outcome_;
};

}  // namespace

Outcome run_traced(const std::vector<std::string>& words, const std::string& folder, Fault fault) {
    Outcome outcome;
    // Beside the folder, so that what the program says is none of the calls.
    const std::string said = folder + ".said";
    const int output = open(said.c_str(), O_RDWR | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    const pid_t child = fork();
    if (child == 0) become(words, folder, output, fault.kind == Fault::Kind::none || fault.kind == Fault::Kind::unread);
    close(output);
    Tracing(folder + "/", fault, outcome).follow(child);
    std::ifstream file(said);
    outcome.said.assign(std::istreambuf_iterator<char>(file), {});
    unlink(said.c_str());
    return outcome;
}

}  // namespace breakstep::harm
