//! Who is at the other end of a connection: another user of the same machine is not served, whatever he brings.
//!
//! Cookies are sent to every port of a machine, so a server of another user could be handed this desk's. On Linux the
//! system tells whose socket the other end is; elsewhere that is not known here.

use std::net::{SocketAddr, SocketAddrV4};

/// The tables of the system's connections, of the older and of the newer addresses: a socket of the newer kind may speak to an
/// older address.
#[cfg(target_os = "linux")]
const TABLE: &str = "/proc/net/tcp";
#[cfg(target_os = "linux")]
const NEWER_TABLE: &str = "/proc/net/tcp6";

/// Whether the other end of a connection from `from` to `to` is a program of the user who runs the desk. Where the system tells
/// of no connections, it is taken for one; where it tells of this end and not of the other, it is not.
#[cfg(target_os = "linux")]
pub fn is_of_this_user(from: SocketAddr, to: SocketAddr) -> bool {
    let (SocketAddr::V4(from), SocketAddr::V4(to)) = (from, to) else { return false };
    let Ok(table) = std::fs::read_to_string(TABLE) else { return true };
    let newer = || std::fs::read_to_string(NEWER_TABLE).unwrap_or_default();
    let is_told = |table: &str| owner(table, from, to).or_else(|| owner(&newer(), from, to));
    match is_told(&table) {
        Some(user) => user == rustix::process::geteuid().as_raw(),
        None => owner(&table, to, from).is_none(),
    }
}

/// The same where the system does not say.
#[cfg(not(target_os = "linux"))]
pub fn is_of_this_user(_from: SocketAddr, _to: SocketAddr) -> bool {
    true
}

/// The user of the socket that is bound to `from` and connected to `to`; `None` where it is not in the table.
///
/// Columns as in proc_pid_net(5): number, local address, remote address, state, queues, timer, retransmits, user. An
/// address is the four bytes in the machine's own order and the port, in hexadecimal; a newer address has four such words,
/// and one that stands for an older has it in the last.
#[cfg(any(target_os = "linux", test))]
fn owner(table: &str, from: SocketAddrV4, to: SocketAddrV4) -> Option<u32> {
    let written = |address: SocketAddrV4| {
        format!("{:08X}:{:04X}", u32::from_ne_bytes(address.ip().octets()), address.port())
    };
    let mapped = format!("{:08X}{:08X}{:08X}", 0, 0, u32::from_ne_bytes([0, 0, 0xff, 0xff]));
    let (from, to) = (written(from), written(to));
    table.lines().skip(1).find_map(|line| {
        let columns: Vec<&str> = line.split_whitespace().collect();
        let is = |column: usize, address: &str| {
            columns.get(column).is_some_and(|it| it.strip_prefix(mapped.as_str()).unwrap_or(it) == address)
        };
        let is_it = is(1, &from) && is(2, &to);
        if is_it { columns.get(7)?.parse().ok() } else { None }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[cfg(target_endian = "little")]
    #[test]
    fn the_owner_of_a_socket_is_read_from_the_systems_table() {
        // Two lines as the system writes them, of a connection from port 43690 to 48059 of 127.0.0.1.
        let table = "  sl  local_address rem_address   st tx_queue rx_queue tr tm->when retrnsmt   uid  timeout inode\n\
                     0: 0100007F:BBBB 00000000:0000 0A 00000000:00000000 00:00000000 00000000     0        0 1 1\n\
                     1: 0100007F:AAAA 0100007F:BBBB 01 00000000:00000000 00:00000000 00000000  1007        0 2 1\n\
                     2: 0100007F:BBBB 0100007F:AAAA 01 00000000:00000000 00:00000000 00000000  1000        0 3 1\n";
        let at = |port| SocketAddrV4::new(std::net::Ipv4Addr::LOCALHOST, port);
        assert_eq!(owner(table, at(0xaaaa), at(0xbbbb)), Some(1007));
        assert_eq!(owner(table, at(0xbbbb), at(0xaaaa)), Some(1000));
        assert_eq!(owner(table, at(0xaaab), at(0xbbbb)), None);
    }

    #[cfg(target_endian = "little")]
    #[test]
    fn an_older_address_is_found_among_the_newer_ones() {
        let table = "  sl  local_address remote_address st\n\
                     0: 0000000000000000FFFF00000100007F:AAAA 0000000000000000FFFF00000100007F:BBBB 01 0:0 0:0 0 1007 0 1\n";
        let at = |port| SocketAddrV4::new(std::net::Ipv4Addr::LOCALHOST, port);
        assert_eq!(owner(table, at(0xaaaa), at(0xbbbb)), Some(1007));
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn a_connection_of_ones_own_is_ones_own() {
        let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
        let client = std::net::TcpStream::connect(listener.local_addr().unwrap()).unwrap();
        let (from, to) = (client.local_addr().unwrap(), client.peer_addr().unwrap());
        assert!(is_of_this_user(from, to));
        let table = std::fs::read_to_string(TABLE).unwrap();
        let (SocketAddr::V4(from), SocketAddr::V4(to)) = (from, to) else { panic!() };
        assert_eq!(owner(&table, from, to), Some(rustix::process::geteuid().as_raw()));
    }
}
