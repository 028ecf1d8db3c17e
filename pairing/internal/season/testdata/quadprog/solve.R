# Solves the relaxations in problems.txt with the package quadprog (Goldfarb &
# Idnani 1983, Math Program 27:1-33; R port by Turlach & Weingessel) and writes
# solutions.csv. Run in this folder, with Debian's r-cran-quadprog:
#
#   Rscript solve.R
#
# Variables are u[b,m], the share of breeder b's m-th chick, and k[p], the
# chicks of pair p. The matrix is singular in them, so a ridge around the last
# solution is added and the problem solved again until nothing changes (the
# proximal point algorithm: Rockafellar 1976); the value written is without it.
library(quadprog)
ridge <- 0.01
lines <- strsplit(readLines("problems.txt"), " ")
problems <- list()
for (l in lines) {
  key <- l[1]
  if (key == "#") next
  x <- as.numeric(l[-1])
  n <- length(problems)
  if (key == "problem") problems[[n + 1]] <- list(id = x, kinship = NULL)
  else if (key == "kinship") problems[[n]]$kinship <- rbind(problems[[n]]$kinship, x)
  else problems[[n]][[key]] <- x
}
out <- "problem,value"
for (q in problems) {
  n <- length(q$cost); L <- q$most; P <- length(q$pairs) / 2
  pairs <- matrix(q$pairs, ncol = 2, byrow = TRUE) + 1
  nu <- n * L; N <- nu + P
  level <- rep(seq_len(L), each = n)           # of each u
  bird <- rep(seq_len(n), L)
  K <- matrix(0, n, N); K[cbind(bird, seq_len(nu))] <- 1
  H <- t(K) %*% (q$kinship - diag(q$spare)) %*% K / 2 # so that x'Hx/2 = K'(f-D)K/4
  a <- c(q$cost[bird] + q$spare[bird] * (2 * level - 1) / 4, rep(0, P))
  E <- NULL; e <- NULL                         # equalities, then G x >= g
  for (b in seq_len(n)) {
    row <- K[b, ]
    row[nu + which(pairs[, 1] == b | pairs[, 2] == b)] <- -1
    E <- rbind(E, row); e <- c(e, 0)
  }
  E <- rbind(E, c(rep(0, nu), rep(1, P))); e <- c(e, q$chicks)
  G <- rbind(diag(N), cbind(-diag(nu), matrix(0, nu, P)))
  g <- c(rep(0, N), rep(-1, nu))
  for (m in seq_len(L)[-1]) for (sex in 0:1) { # the first level has all chicks at most
    of <- if (sex == 0) bird <= q$females else bird > q$females
    G <- rbind(G, c(-as.numeric(of & level == m), rep(0, P))); g <- c(g, -floor(q$chicks / m))
  }
  x <- rep(0, N)
  for (step in 1:1000) {
    last <- x
    for (r in ridge * 3^(0:9)) { # quadprog may take tight limits for contradictory; a larger ridge helps
      s <- try(solve.QP(H + r * diag(N), r * last - a, t(rbind(E, G)), c(e, g), meq = length(e)), silent = TRUE)
      if (!inherits(s, "try-error")) break
    }
    x <- s$solution
    if (max(abs(x - last)) < 1e-11) break
  }
  out <- c(out, sprintf("%d,%.10f", q$id, q$sum + sum(a * x) + drop(x %*% H %*% x) / 2))
}
writeLines(out, "solutions.csv")
