// A desk on real sockets, with an evening that a test plays by hand, and clients that say whatever they like. Each
// client is a plain socket (TLS where it is asked for) with generous limits, so that a test never hangs.
#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "desk/web/server.hpp"

namespace breakstep::tests {

/// The desk, its house, and what was asked of it.
class DeskHall {
  public:
    explicit DeskHall(bool hall = false);
    ~DeskHall();

    [[nodiscard]] desk::DeskServer& server() { return *server_; }
    [[nodiscard]] std::uint16_t port() const { return server_->port(); }
    [[nodiscard]] std::string host() const { return "127.0.0.1:" + std::to_string(port()); }
    /// New digits, "" where there are none.
    [[nodiscard]] std::string digits();
    void publish(RepSeen rep);
    [[nodiscard]] std::size_t asked() const;
    [[nodiscard]] std::vector<std::string> notes() const;
    /// The server goes and comes back at the same port, with the same folder.
    void restart();

  private:
    [[nodiscard]] desk::DeskHouse house();
    void open(std::uint16_t port);

    bool hall_;
    std::filesystem::path folder_;
    mutable std::mutex lock_;
    std::shared_ptr<EveningView> view_;
    std::vector<RepSeen> reps_;
    std::vector<evening::Request> asked_;
    std::unique_ptr<desk::DeskServer> server_;
};

struct Reply {
    int status = 0;                              ///< 0: nothing that is HTTP came
    std::map<std::string, std::string> headers;  ///< by their names in small letters
    std::string body;
};

/// One connection.
class Client {
  public:
    explicit Client(std::uint16_t port, bool tls = false);
    ~Client();
    Client(const Client&) = delete;
    Client& operator=(const Client&) = delete;

    [[nodiscard]] bool is_open() const { return open_; }
    bool send(const std::string& bytes);
    /// A whole answer to a request.
    [[nodiscard]] Reply reply();
    /// What comes until `enough` bytes are there, or the other side closes, or five seconds are over.
    [[nodiscard]] std::string bytes(std::size_t enough);
    /// What comes next, within a moment; "" for nothing, or the end.
    [[nodiscard]] std::string more();
    /// Whether the other side closes within so long.
    [[nodiscard]] bool is_closed_within(std::chrono::milliseconds time);
    [[nodiscard]] std::string fingerprint() const;  ///< of the certificate; "" without TLS

  private:
    [[nodiscard]] long read(char* to, std::size_t most, std::chrono::milliseconds patience);

    struct Secure;
    int socket_ = -1;
    bool open_ = false;
    std::unique_ptr<Secure> secure_;
    std::string rest_;
};

/// A request as a browser makes it; `more` are header lines, each with its line end.
[[nodiscard]] std::string get(const std::string& host, const std::string& target, const std::string& more = {});
[[nodiscard]] std::string post(const std::string& host, const std::string& target, const std::string& body,
                               const std::string& more, const std::string& type = "application/json");

/// A paired browser: what its pages send.
struct Paired {
    std::string cookie, token;  ///< header lines
    [[nodiscard]] std::string headers(const std::string& host, bool tls = false) const;
};
/// New digits, "" where there are none.
[[nodiscard]] std::string digits_of(desk::DeskServer& server);
[[nodiscard]] Paired pair(desk::DeskServer& server, const std::string& role, bool tls);
[[nodiscard]] Paired pair(DeskHall& hall, const std::string& role = "command", bool tls = false);

/// A WebSocket's frame from a client, masked; as it ought to be, or with another first byte.
[[nodiscard]] std::string frame(const std::string& payload, unsigned char first = 0x81, bool masked = true);
/// The line's begin; its answer is read.
[[nodiscard]] Reply open_line(Client& client, const std::string& host, const Paired& who, const std::string& from = "",
                              const std::string& origin = {});

}  // namespace breakstep::tests
