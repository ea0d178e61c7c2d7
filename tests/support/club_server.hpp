// A PostgreSQL server of a test's own: a cluster in a temporary folder, on a socket and a loopback port of its own,
// started by the test and gone with it. What Debian's package may have set up is neither needed nor touched.
//
// PostgreSQL refuses to run as root: there it runs as user postgres. Its disk can be full (odd_machine.cpp). Linux; one
// thread.
#pragma once

#include <arpa/inet.h>
#include <fcntl.h>
#include <grp.h>
#include <netinet/in.h>
#include <pwd.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <doctest/doctest.h>
#include <libpq-fe.h>

namespace breakstep::testing {

/// A loopback port that is free now.
inline int free_port() {
    const int listener = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    socklen_t size = sizeof address;
    int port = 0;
    if (::bind(listener, reinterpret_cast<sockaddr*>(&address), size) == 0 &&
        ::getsockname(listener, reinterpret_cast<sockaddr*>(&address), &size) == 0)
        port = ntohs(address.sin_port);
    ::close(listener);
    return port;
}

class ClubServer {
  public:
    ClubServer() {
        char name[] = "/tmp/breakstep-server-XXXXXX";
        folder_ = ::mkdtemp(name);
        if (::geteuid() == 0) {
            const passwd* user = ::getpwnam("postgres");
            REQUIRE_MESSAGE(user != nullptr, "the package postgresql-15 brings the user postgres");
            user_ = user->pw_uid;
            group_ = user->pw_gid;
            REQUIRE(::chown(folder_.c_str(), user_, group_) == 0);
        }
        const int made = wait_for(spawn({program("initdb"), "--pgdata=" + data(), "--username=postgres", "--no-sync",
                                         "--encoding=UTF8", "--locale=C", "--auth=trust"}));
        REQUIRE_MESSAGE(made == 0, text_of("log"));
        start();
    }
    ~ClubServer() {
        stop(SIGINT);
        std::error_code ignored;
        std::filesystem::remove_all(folder_, ignored);
    }
    ClubServer(const ClubServer&) = delete;
    ClubServer& operator=(const ClubServer&) = delete;

    /// On another port if its own was taken meanwhile. Returns when it takes connections.
    void start() {
        // Again and again within a hang limit: after a kill, what it had in memory may be in use for a moment more.
        for (int attempt = 0; attempt < 600; ++attempt) {
            if (port_ == 0) port_ = free_port();
            std::vector<std::string> words{program("postgres"),   "-D", data(),          "-p",
                                           std::to_string(port_), "-k", folder_.string()};
            std::vector<std::string> settings{"listen_addresses=127.0.0.1", "fsync=off",
                                              "shared_buffers=16MB",        "max_connections=60",
                                              "log_min_messages=error",     "jit=off"};
            settings.insert(settings.end(), settings_.begin(), settings_.end());
            for (const std::string& setting : settings) {
                words.emplace_back("-c");
                words.push_back(setting);
            }
            server_ = spawn(words);
            const std::string where = admin_keywords();
            for (int i = 0; i < 6000; ++i) {  // a hang limit of 60 s
                const PGPing ping = PQping(where.c_str());
                if (ping == PQPING_OK) return;
                if (::waitpid(server_, nullptr, WNOHANG) == server_) {
                    server_ = 0;
                    break;
                }
                ::usleep(10'000);
            }
            if (attempt % 50 == 49) port_ = 0;
            ::usleep(100'000);
        }
        FAIL("the server does not start: " << text_of("log"));
    }
    /// With settings of the server's, "ssl=on".
    void restart_with(const std::vector<std::string>& settings) {
        stop(SIGINT);
        settings_ = settings;
        start();
    }
    /// As another server's copy that takes nothing, or as itself again.
    void restart_as_standby(bool standby) {
        stop(SIGINT);
        if (standby)
            write("standby.signal", "");
        else
            std::filesystem::remove(data() + "/standby.signal");
        start();
    }
    /// The disk takes nothing more of files with this in their paths, until it is emptied.
    void fill_disk(const std::string& part) const { std::ofstream(folder_ / "full") << part; }
    void empty_disk() const { std::filesystem::remove(folder_ / "full"); }
    /// A file of the cluster's, its owner's alone.
    void give(const std::string& file) const {
        const std::string path = data() + "/" + file;
        std::filesystem::permissions(path, std::filesystem::perms::owner_read | std::filesystem::perms::owner_write);
        if (user_ != 0) REQUIRE(::chown(path.c_str(), user_, group_) == 0);
    }
    /// SIGKILL leaves no time for anything, and no part of the server behind.
    void stop(int how) {
        if (server_ <= 0) return;
        // Its processes are in groups of their own; they are killed by their numbers.
        const std::vector<pid_t> children = how == SIGKILL ? children_of(server_) : std::vector<pid_t>{};
        ::kill(server_, how);
        for (const pid_t child : children) ::kill(child, how);
        ::waitpid(server_, nullptr, 0);
        server_ = 0;
    }

    [[nodiscard]] int port() const { return port_; }
    [[nodiscard]] std::string url(const std::string& login, int port = 0, const std::string& more = "") const {
        return "postgresql://" + login + "@127.0.0.1:" + std::to_string(port == 0 ? port_ : port) + "/postgres" + more;
    }
    [[nodiscard]] std::string data() const { return (folder_ / "data").string(); }

    /// One login's connection.
    class Client {
      public:
        Client(const ClubServer& server, const std::string& login)
            : connection_(PQconnectdb(("host=127.0.0.1 dbname=postgres user=" + login +
                                       " port=" + std::to_string(server.port_) + " client_encoding=UTF8")
                                          .c_str())) {}
        ~Client() { PQfinish(connection_); }
        Client(const Client&) = delete;
        Client& operator=(const Client&) = delete;
        /// The first column of every row; why it was refused, where that is asked for.
        std::vector<std::string> ask(const std::string& sql, std::string* why = nullptr) const {
            PGresult* result = PQexec(connection_, sql.c_str());
            std::vector<std::string> rows;
            for (int row = 0; row < PQntuples(result); ++row) rows.emplace_back(PQgetvalue(result, row, 0));
            const bool failed = PQresultStatus(result) != PGRES_TUPLES_OK && PQresultStatus(result) != PGRES_COMMAND_OK;
            const std::string said = PQerrorMessage(connection_);
            PQclear(result);
            if (why != nullptr)
                *why = failed ? said : "";
            else
                REQUIRE_MESSAGE(!failed, said);
            return rows;
        }

      private:
        PGconn* connection_;
    };
    /// As the server's owner.
    std::vector<std::string> ask(const std::string& sql) const { return Client(*this, "postgres").ask(sql); }
    std::vector<std::string> ask_as(const std::string& login, const std::string& sql,
                                    std::string* why = nullptr) const {
        return Client(*this, login).ask(sql, why);
    }
    /// A file of the cluster's that is there; the server reads it at its next start.
    void write(const std::string& file, const std::string& text) const { std::ofstream(data() + "/" + file) << text; }

  private:
    [[nodiscard]] static std::string program(const std::string& name) { return "/usr/lib/postgresql/15/bin/" + name; }
    [[nodiscard]] std::string admin_keywords() const {
        return "host=127.0.0.1 user=postgres dbname=postgres port=" + std::to_string(port_);
    }
    [[nodiscard]] std::string text_of(const std::string& name) const {
        std::ifstream in(folder_ / name);
        return {std::istreambuf_iterator<char>(in), {}};
    }
    [[nodiscard]] static std::vector<pid_t> children_of(pid_t parent) {
        std::vector<pid_t> found;
        std::ifstream list("/proc/" + std::to_string(parent) + "/task/" + std::to_string(parent) + "/children");
        for (pid_t child = 0; list >> child;) found.push_back(child);
        return found;
    }
    /// In a group of processes of its own, what it says in the file "log".
    [[nodiscard]] pid_t spawn(const std::vector<std::string>& words) const {
        std::vector<char*> arguments;
        for (const std::string& word : words) arguments.push_back(const_cast<char*>(word.c_str()));
        arguments.push_back(nullptr);
        const std::string log = (folder_ / "log").string();
        const pid_t child = ::fork();
        if (child != 0) return child;
        ::setpgid(0, 0);
        const int nothing = ::open("/dev/null", O_RDONLY);
        if (nothing < 0 || ::dup2(nothing, 0) < 0 || ::chdir(folder_.c_str()) != 0) ::_exit(127);
        if (user_ != 0 && (::setgroups(1, &group_) != 0 || ::setgid(group_) != 0 || ::setuid(user_) != 0)) ::_exit(127);
        const int said = ::open(log.c_str(), O_WRONLY | O_CREAT | O_APPEND, 0600);
        if (said < 0 || ::dup2(said, 1) < 0 || ::dup2(said, 2) < 0) ::_exit(127);
        // A test that dies takes its server with it.
        ::prctl(PR_SET_PDEATHSIG, SIGINT);
        ::unsetenv("PGHOST");
        ::unsetenv("PGPORT");
        ::setenv("LD_PRELOAD", BREAKSTEP_ODD_MACHINE, 1);
        ::setenv("BREAKSTEP_TEST_FULL", (folder_ / "full").c_str(), 1);
        ::execv(arguments[0], arguments.data());
        ::_exit(127);
    }
    [[nodiscard]] static int wait_for(pid_t child) {
        int status = 0;
        ::waitpid(child, &status, 0);
        return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    }

    std::filesystem::path folder_;
    uid_t user_ = 0;
    gid_t group_ = 0;
    int port_ = 0;
    pid_t server_ = 0;
    std::vector<std::string> settings_;
};

}  // namespace breakstep::testing
